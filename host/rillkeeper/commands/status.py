"""`rillkeeper status` and `rillkeeper watch`: what the board does and reads."""

import sys
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from time import monotonic, sleep

import click
from rich.live import Live
from rich.table import Table

from keeper.sense import QUALITIES
from rillkeeper.board.link import state
from rillkeeper.board.link import status_words as words
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.state import BoardTime, Identity, Status
from rillkeeper.board.link.talk import Talk
from rillkeeper.commands.diagnosis import last_found
from rillkeeper.commands.log_source import called_of
from rillkeeper.commands.options import archive_option
from rillkeeper.display_units import Shown
from rillkeeper.errors import BoardStopped
from rillkeeper.inquiry.why.found import Found
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.rule_text import QUALITY_WORDS, word_of
from rillkeeper.screen import console, json_text, open_table

JSON_SCHEMA = 1
_SHOWN = Shown()


@click.command(name="status")
@port_option
@archive_option
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
def status(port: str | None, archive_file: str | None, as_json: bool) -> None:
    """Show what the board does and why, what it waits for and reads, and what comes next.

    What `report` or `why` found wrong in its log the last time stands there too.

    Status 4 when somebody should come: the board is locked out, has no valid settings, or its
    firmware is damaged; the battery is flat; or a rule has stopped the night, as a shut line, a
    burst hose or a bad wire does. Status 0 where it waits, pumps, pauses or rests before another
    try, and where a person or frost has stopped the night.

    \b
    Example:
      rillkeeper status
    """
    with Port(choose(port)) as opened:
        talk = Talk(opened)
        who, now, time = state.identity(talk), state.status(talk), state.board_time(talk)
        fitted = _fitted(talk, now)
    found = last_found(archive_file, who.board)
    if as_json:
        click.echo(json_text({**document_of(who, now, time), **found_document(found)}))
    else:
        screen = console()
        called = called_of(archive_file, who.board)
        screen.print(f"board {called}, firmware {who.firmware}")
        screen.print(table_of(now, time, fitted, found_rows(found)))
    _leave(now)


@click.command(name="watch")
@port_option
@click.option("--count", type=click.IntRange(1), help="End after so many looks.")
def watch(port: str | None, count: int | None) -> None:
    """Look at the board once a second: live in place, or a line each when piped.

    Ctrl-C ends it. With --count it ends with status 4 when somebody should come, as `status`
    does.

    \b
    Example:
      rillkeeper watch --count 10
    """
    with Port(choose(port)) as opened:
        talk = Talk(opened)
        screen = console()
        live = Live(console=screen, auto_refresh=False) if sys.stdout.isatty() else None
        if live:
            live.start()
        try:
            now = _watch(talk, live, count, _fitted(talk, state.status(talk)))
        finally:
            if live:
                live.stop()
    _leave(now)


def _leave(now: Status) -> None:
    """Status 4, with the reason, where somebody should come."""
    why = words.calls_a_person(now)
    if why:
        raise BoardStopped(why)


def _fitted(talk: Talk, now: Status) -> Fitted:
    """Which sensors the board has, by its settings; without those it reads nothing anyhow."""
    return Fitted.of_settings(state.settings(talk)) if now.left_mah is not None else Fitted()


def found_rows(found: tuple[Found, str] | None) -> list[tuple[str, str]]:
    """What the last diagnosis of its log has found; nothing where there is none."""
    if found is None:
        return []
    told, until = found
    open_now = [one for one in told.troubles if one.open]
    by = f"by why, in the log up to the night of {until}"
    if not open_now:
        return [("wrong", f"nothing, {by}")] if told.nothing else []
    rows = [("wrong", f"{', or '.join(one.names)}, {one.since}. {one.look}") for one in open_now]
    return [*rows, ("", by)]


def found_document(found: tuple[Found, str] | None) -> dict[str, object]:
    """The same as JSON."""
    if found is None:
        return {"troubles": None, "troubles_until": None}
    told, until = found
    rows = [
        {"what": list(one.names), "since": one.since, "look": one.look}
        for one in told.troubles
        if one.open
    ]
    return {"troubles": rows, "troubles_until": until}


def document_of(who: Identity, now: Status, time: BoardTime) -> dict[str, object]:
    """The status as JSON. What the board does not say is null; "none" words are null too."""
    document: dict[str, object] = {
        "schema": JSON_SCHEMA,
        **asdict(who),
        **asdict(now),
        "doing": now.doing,
        "clock": _iso(time.now),
        "clock_source": time.source,
        "calls_a_person": words.calls_a_person(now) or None,
    }
    if now.last_stop:
        stop = now.last_stop
        at = _iso(stop.at)
        document["last_stop"] = {"cause": stop.cause or None, "set": stop.set, "at": at}
    if now.held:
        document["held"] = {**asdict(now.held), "until": _iso(now.held.until)}
    if now.next_set:
        document["next_set"] = {**asdict(now.next_set), "at": _iso(now.next_set.at)}
    if now.two_relays:
        two = now.two_relays
        document["two_relays"] = {"stuck": two.stuck or None, "proved": _iso(two.proved)}
    return document


def _iso(moment: date | None) -> str | None:
    return moment.isoformat() if moment else None


def _watch(talk: Talk, live: Live | None, count: int | None, fitted: Fitted) -> Status:
    due = monotonic()
    looks = 0
    while True:
        now, time = state.status(talk), state.board_time(talk)
        if live:
            live.update(table_of(now, time, fitted), refresh=True)
        else:
            click.echo(line_of(now, time, fitted))
            sys.stdout.flush()
        looks += 1
        if looks == count:
            return now
        due = max(due + 1.0, monotonic())
        sleep(max(0.0, due - monotonic()))


def line_of(now: Status, time: BoardTime, fitted: Fitted) -> str:
    """One look as a line."""
    parts = [time_text(time), words.doing_words(now)]
    if now.last_stop and now.state in words.STOPPED:
        parts.append(f"since: {words.stop_words(now.last_stop)}")
    parts.append(f"relay {'closed' if now.relay else 'open'}")
    if now.progress:
        parts.append(words.progress_words(now.progress, _SHOWN, sees_water=fitted.sees_water))
    parts += [f"{name} {value}" for name, value in readings_of(now, fitted)]
    return ", ".join(parts)


def table_of(
    now: Status, time: BoardTime, fitted: Fitted, more: Sequence[tuple[str, str]] = ()
) -> Table:
    """One look as a small table."""
    table = open_table(show_header=False)
    table.add_row("time", time_text(time))
    table.add_row("does", words.doing_words(now))
    if now.trouble:
        table.add_row("trouble", now.trouble)
    for name, text in (*told_of(now, fitted), *more):
        table.add_row(name, text)
    table.add_row("relay", relay_text(now, fitted))
    if now.two_relays:
        table.add_row("two relays", words.two_relays_words(now.two_relays))
    if now.meter:
        table.add_row("flow meter", words.meter_words(now.meter))
    for name, value in readings_of(now, fitted):
        table.add_row(name, value)
    if now.contacts & 1 and fitted.rain:
        table.add_row("rain contact", "closed; a minute of that is rain")
    table.add_row("log", log_text(now))
    if now.slowest_ms:
        table.add_row("slowest tick", f"{now.slowest_ms} ms while pumping")
    return table


def told_of(now: Status, fitted: Fitted) -> list[tuple[str, str]]:
    """Why it stands still, how far the set is, what holds sets off, what comes next."""
    rows = []
    if now.progress:
        told = words.progress_words(now.progress, _SHOWN, sees_water=fitted.sees_water)
        rows.append(("gives", told))
    if now.last_stop:
        name = "because of" if now.state in words.STOPPED else "last stop"
        rows.append((name, words.stop_words(now.last_stop)))
        look = words.look_words(now)
        rows += [("look at", look)] if look else []
    rows += [("held off", text) for text in words.held_words(now)]
    if now.next_set:
        rows.append(("next", words.next_words(now)))
    if now.nights_left is not None:
        rows.append(("nights left", f"{now.nights_left:.1f} at least, by the board's own count"))
    # A board without settings has nothing to tell of all this.
    if not now.tells_why and now.left_mah is not None:
        rows.append(("why, next", words.OLDER))
    return rows


def time_text(time: BoardTime) -> str:
    """The board's time, or that it has none."""
    return f"{time.now:%Y-%m-%d %H:%M:%S}" if time.now else "clock not set"


def relay_text(now: Status, fitted: Fitted) -> str:
    """What the relay is told, and what is seen behind it."""
    told = "closed" if now.relay else "open"
    if fitted.load_sense and now.load_on is not None and now.load_on != now.relay:
        told += ", but the pump's wire is " + ("live" if now.load_on else "dead")
    elif now.unasked:
        told += ", but the pump works"
    return told + (", and its pin does not follow" if now.relay_failed else "")


def log_text(now: Status) -> str:
    """How far the log goes, and what is wrong with it."""
    kept = now.next - now.oldest
    text = f"{kept} records kept, {now.waiting} not yet on flash"
    if now.lost:
        text += f", {now.lost} lost"
    return text + (", and its flash fails" if now.log_failed else "")


def readings_of(now: Status, fitted: Fitted) -> list[tuple[str, str]]:
    """Readings with their units; none where the board has no settings to scale them with, and
    of no sensor that it does not have."""
    if now.pressure_pa is None or now.battery_mv is None or now.left_mah is None:
        return []
    rows = []
    if fitted.pressure:
        text = _SHOWN.text(now.pressure_pa, "pressure")
        rows.append(("outlet", text + _doubt(now.pressure_bad)))
    if fitted.battery:
        text = _SHOWN.text(now.battery_mv / 1000.0, "voltage")
        rows.append(("battery", text + _doubt(now.battery_bad)))
    if now.current_ma is not None:
        text = _SHOWN.text(now.current_ma / 1000.0, "current")
        rows.append(("pump", text + _doubt(now.current_bad)))
    return [*rows, ("charge left", _SHOWN.text(now.left_mah * 3.6, "charge"))]


def _doubt(bad: int) -> str:
    """What is said behind a reading whose channel is not to be believed now."""
    if not bad:
        return ""
    return f" when last good; now the channel is {word_of(QUALITIES, QUALITY_WORDS, bad)}"
