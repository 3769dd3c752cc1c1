"""The verdict at the top of the page: water, battery, source, trouble; a sentence each."""

from math import isfinite

from rillkeeper.display_units import counted, day_text
from rillkeeper.morning.report.litres import METER
from rillkeeper.morning.report.refill import Refill, refill_of
from rillkeeper.morning.report.report import Report
from rillkeeper.morning.report.troubles import troubles_of
from rillkeeper.morning.weather import Balance
from rillkeeper.verdict import ACT, GOOD, LOOK, Answer, Verdict


def verdict_of(report: Report) -> Verdict:
    """What the report says to somebody who reads one sentence."""
    refill = refill_of(report)
    source = [_source(report, refill)] if refill else []
    answers = (_water(report), _battery(report), *source, _trouble(report))
    parts = [answer.sentence.rstrip(".") for answer in answers]
    rest = [part[0].lower() + part[1:] for part in parts[1:]]
    return Verdict(answers, "; ".join([parts[0], *rest]) + ".")


def _water(report: Report) -> Answer:
    question = "Did the garden get its water?"
    asked = [night for night in report.nights if night.share is not None and not night.running]
    running = ""
    if any(night.running for night in report.nights[-1:]):
        running = "The pump was running when the log was read. "
    if not asked and running:
        return Answer("water", question, LOOK, "It is being watered", running.rstrip())
    if not asked:
        return Answer("water", question, LOOK, "Nothing was due", "No set was due in this log.")
    whole = [night for night in asked if night.whole]
    rained = [night for night in asked if not night.whole and night.rained]
    less = len(asked) - len(whole) - len(rained)
    silent = sum(night.run_s is None for night in report.nights)
    answer = _got(report, len(whole), len(asked), len(rained))
    if silent:
        answer += f"; of {counted(silent, 'more night')} nothing is known"
        less += silent
    state = GOOD if not less else LOOK if less < len(asked) / 2 else ACT
    if state == GOOD and (_suffers(report) or not report.fitted.sees_water):
        state = LOOK
    short = f"On {len(whole)} of {counted(len(asked), 'night')}"
    short += f", rain on {len(rained)}" if rained else ""
    detail = f"{running}{_soil(report)}{_undated(report)}"
    return Answer("water", question, state, short, answer + ".", detail)


def _got(report: Report, whole: int, asked: int, rained: int) -> str:
    """How often the garden got all of its water, without a full stop."""
    who, did, what = "The garden", "got", "its full water"
    unseen = ""
    if not report.fitted.sees_water:
        who, did, what = "The pump", "ran", "its full time"
        unseen = " (no sensor tells whether water came)"
    if asked == 1:
        if rained:
            return "It rained that night, so nothing had to be watered"
        done = did if whole else f"did not {_PLAIN[did]}"
        return f"{who} {done} {what} that night{unseen}"
    number = "all" if whole == asked else str(whole or "none")
    text = f"{who} {did} {what}{unseen} on {number} of {counted(asked, 'night')}"
    return text + (f", and rain instead on {rained}" if rained else "")


_PLAIN = {"got": "get", "ran": "run"}


def _undated(report: Report) -> str:
    """How much of the log was placed without a date."""
    count = sum(not entry.trusted and entry.kind not in _AT_START for entry in report.log.entries)
    if not count:
        return ""
    has = "has" if count == 1 else "have"
    return (
        f" The clock was lost: {counted(count, 'record')} of the log {has} no date and went to "
        "the nights between their neighbours."
    )


_AT_START = ("boot", "battery", "clock")
"""What a board writes before it has judged its clock."""


def _soil(report: Report) -> str:
    litres = sum(night.given_ml or 0 for night in report.nights)
    by = ", by the flow meter" if report.litres_by == METER else ""
    text = f"{report.shown.text(litres * 1e-6, 'volume')} in all{by}."
    if not report.fitted.sees_water:
        text = f"By the clock that should be {text}"
    if report.balance:
        return f"{text} {_balance(report, report.balance)}"
    if not report.truth or report.stress_mm is None:
        return text
    last = report.truth[-1]
    return f"{text} {_lacks(report, last.deficit_low_mm, last.deficit_mm)}"


def _suffers(report: Report) -> bool:
    """Whether the crop on the driest quarter is short of water when the report ends."""
    last = report.truth[-1] if report.truth else report.balance and report.balance.days[-1]
    lacks_mm = last.deficit_low_mm if last else None
    return lacks_mm is not None and lacks_mm > (report.stress_mm or float("inf"))


def _lacks(report: Report, low_mm: float, mean_mm: float) -> str:
    """What the soil is short of, judged by the driest quarter."""
    shown = report.shown
    low, mean, easy = (
        shown.text(mm * 1e-3, "water depth") for mm in (low_mm, mean_mm, report.stress_mm or 0.0)
    )
    text = f"At the end the driest quarter of the plot lacks {low}, the plot on average {mean}; "
    if _suffers(report):
        return f"{text}from {easy} on the crop suffers."
    return f"{text}the crop suffers only from {easy} on."


def _balance(report: Report, balance: Balance) -> str:
    """Given against used, over the nights of which both are known."""
    known = [one for one in balance.days if one.used_mm is not None and one.given_mm is not None]
    if not known:
        return "What crop and ground used is not known: no day of the weather table has it."
    shown = report.shown
    used = shown.text(sum(one.used_mm or 0.0 for one in known) * 1e-3, "water depth")
    given = shown.text(sum(one.given_mm or 0.0 for one in known) * 1e-3, "water depth")
    rain = shown.text(sum(one.rain_mm or 0.0 for one in known) * 1e-3, "water depth")
    days = counted(len(known), "day")
    text = f"In {days} crop and ground used {used}; {given} were given and {rain} of rain fell."
    last = balance.days[-1]
    if last.deficit_mm is not None and last.deficit_low_mm is not None:
        text += f" {_lacks(report, last.deficit_low_mm, last.deficit_mm)}"
    return text


def _battery(report: Report) -> Answer:
    question = "When must the battery go home?"
    left = report.left
    known = [night for night in report.nights if night.left_mah is not None]
    if not known:
        return Answer("battery", question, LOOK, "Not known", left.note)
    last = known[-1]
    charge = report.shown.text((last.left_mah or 0) * 3.6, "charge")
    when = f"on {day_text(last.day + 1)} at noon" if last.closing else "when the log was read"
    if left.middle is None:
        detail = f"The board counted {charge} {when}."
        return Answer("battery", question, LOOK, "Not known", left.note, detail)
    detail = f"{charge} left {when}"
    detail += f", {left.text}. {left.note}".rstrip() if left.middle else f". {left.note}".rstrip()
    nights = int(left.middle)
    if nights == 0:
        answer = "The battery must go home before the next night."
        if not left.middle and left.by == "count and voltage":
            detail = (
                f"{charge} left {when} by the board's count, but the battery's voltage is too "
            )
            detail += f"low for another whole night. {left.note}".rstrip()
        return Answer("battery", question, ACT, "Before the next night", answer, detail)
    by = day_text(report.next_day + nights)
    state = LOOK if nights == 1 else GOOD
    answer = (
        f"The battery lasts {counted(nights, 'more night')}: charge it by the evening of {by}."
    )
    return Answer("battery", question, state, f"By the evening of {by}", answer, detail)


def _source(report: Report, refill: Refill) -> Answer:
    """As the battery's day is said; there is one only where the source can be emptied."""
    question = "When does the source want refilling?"
    left, whole, night = (
        report.shown.text(amount_m3, "volume")
        for amount_m3 in (refill.left_m3, refill.whole_m3, refill.night_m3)
    )
    if refill.refilled:
        answer = "What is left in the source is not known: it was refilled, or more flows in."
        detail = "More was taken than the site file says was there. After a refill: --since."
        return Answer("source", question, LOOK, "Not known", answer, detail)
    detail = f"By the litres counted {left} of {whole} were left"
    detail += f", and a night takes {night}." if refill.night_m3 > 0.0 else "."
    if not refill.rain_known:
        detail += " Rain is not counted in; --weather counts it."
    if not isfinite(refill.nights):
        short = "It holds out" if refill.night_m3 > 0.0 else "Not known"
        answer = "The source holds out: what comes in makes up for what is taken."
        if refill.night_m3 <= 0.0:
            answer = "When the source wants refilling is not known: no night was whole."
        state = GOOD if refill.night_m3 > 0.0 else LOOK
        return Answer("source", question, state, short, answer, detail)
    if not isfinite(refill.nights_rain):
        detail += " With the usual rain it holds out."
    elif refill.nights_rain > refill.nights:
        detail += f" With the usual rain: {counted(round(refill.nights_rain), 'night')}."
    nights = round(refill.nights)
    if nights == 0:
        answer = "The source must be refilled before the next night."
        return Answer("source", question, ACT, "Before the next night", answer, detail)
    by = day_text(report.next_day + nights)
    state = LOOK if nights == 1 else GOOD
    answer = f"The source lasts {counted(nights, 'more night')}: refill it by the evening of {by}."
    return Answer("source", question, state, f"By the evening of {by}", answer, detail)


def _trouble(report: Report) -> Answer:
    question = "Is something wrong?"
    if not report.nights:
        return Answer("trouble", question, LOOK, "Not known", "The log is empty.")
    troubles = troubles_of(report)
    if troubles.open:
        worst = troubles.open[0]
        names = "; ".join(one.sentence for one in troubles.open)
        more = len(troubles.open) - 1
        short = worst.name + (f", and {counted(more, 'more thing')}" if more else "")
        says, lead = f"Check: {short}", "Check this"
        if worst.state == ACT:
            says, lead = f"Yes: {short}", "Something is wrong"
        return Answer("trouble", question, worst.state, says, f"{lead}: {names}.", worst.advice)
    over = _earlier(troubles.over)
    if not report.log.whole:
        return Answer(
            "trouble", question, LOOK, "Not that the log tells", "The log has gaps.", over
        )
    found = report.found
    if found and found.nothing:
        return Answer("trouble", question, GOOD, "No", "Nothing is wrong now.", over)
    answer = "The board saw nothing wrong, and no figure is far off."
    return Answer(
        "trouble", question, GOOD, "Not that the board saw", answer, _asked(report, over)
    )


def _asked(report: Report, over: str) -> str:
    """What `why` was asked, or how to ask it."""
    if report.found:
        return f"{over} {report.found.sentence}".strip()
    return f"{over} To hold the nights against the site's model: rillkeeper why.".strip()


def _earlier(over: tuple[str, ...]) -> str:
    return f"Over, as it seems: {'; '.join(over)}." if over else ""
