"""`rillkeeper season`: whole seasons of a site, each with weather of its own."""

import os
import re
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path
from time import monotonic

import click

from rillkeeper.commands import output_file
from rillkeeper.commands.options import learned_option, seed_option, with_learned
from rillkeeper.display_units import duration_text
from rillkeeper.errors import SiteError, UsageMistake
from rillkeeper.morning.weather.reader import read_file
from rillkeeper.screen import json_text, show
from rillkeeper.season import words
from rillkeeper.season.answer import Variant
from rillkeeper.season.chance import read_rates
from rillkeeper.season.crew import CONNECT_S
from rillkeeper.season.documents import csv_text, document
from rillkeeper.season.kept import Kept
from rillkeeper.season.question import Question
from rillkeeper.season.wear import Wear
from rillkeeper.season.years import years_of
from rillkeeper.site.change import (
    UnknownKey,
    check_set,
    conflicts,
    find_row,
    parse_values,
    with_value,
)
from rillkeeper.site.file import demo_site, load_site
from rillkeeper.text_table import on_terminal
from rillsim.garden.seasonweather import spec_on
from rillsim.garden.weather import Weather
from rillsim.site import HomeSpec, Site

NIGHTS = 120
NIGHTS_MAX = 300
YEARS_MAX = 100_000
VARIANTS = (2, 6)
COMPARE_SHAPE = "KEY=V1,V2,..."
TELL_S = 20.0


@click.command()
@click.argument("site", required=False, type=click.Path(exists=True, dir_okay=False))
@learned_option
@click.option(
    "--years",
    type=click.IntRange(1, YEARS_MAX),
    help="How many seasons. [default: 10; with --weather all whole years of the table]",
)
@click.option("--from", "from_day", metavar="DAY", help="First night, as 05-01 or 2026-05-01.")
@click.option("--to", "to_day", metavar="DAY", help=f"Last night. [default: {NIGHTS} nights]")
@click.option(
    "--weather",
    "weather_file",
    type=click.Path(exists=True, dir_okay=False),
    help="A table of daily weather, as `report` reads it: its years in the place of drawn ones.",
)
@click.option("--compare", metavar=COMPARE_SHAPE, help="Two to six variants in the same weather.")
@click.option(
    "--fault-rates",
    "rates_file",
    type=click.Path(exists=True, dir_okay=False),
    help="Faults that come by chance: a TOML file with lines as `hose_burst = 0.1` (a year).",
)
@click.option(
    "--battery-wear",
    type=click.FloatRange(0.0, 0.5),
    default=0.0,
    help="Age that the battery gains over a season, in parts of twice its life.",
)
@click.option(
    "--pump-wear",
    type=click.FloatRange(0.0, 1.0),
    default=0.0,
    help="Wear that the pump gains over a season; 1: from new to the end of its life.",
)
@seed_option("Of weather, noise and mishaps; the same seed gives the same seasons.")
@click.option(
    "--workers",
    type=click.IntRange(1, 512),
    help="Processes on this machine. [default: one for each core]",
)
@click.option("--on", "address", metavar="ADDRESS", help="A dask scheduler that you run.")
@click.option(
    "--resume",
    "kept_file",
    type=click.Path(dir_okay=False),
    help="Keep the seasons in this file, and go on with what is in it.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
@click.option("--csv", "csv_file", type=click.Path(dir_okay=False), help="A row a season.")
@click.option("--page", "page_file", type=click.Path(dir_okay=False), help="A page with pictures.")
def season(
    site: str | None,
    learned_file: str | None,
    years: int | None,
    from_day: str | None,
    to_day: str | None,
    weather_file: str | None,
    compare: str | None,
    rates_file: str | None,
    battery_wear: float,
    pump_wear: float,
    seed: int,
    workers: int | None,
    address: str | None,
    kept_file: str | None,
    as_json: bool,
    csv_file: str | None,
    page_file: str | None,
) -> None:
    """Will battery, source and pump do for a whole season, in a dry year too?

    Every night is decided by the control of the board. Habits are those of [home] in the site
    file; without any the battery goes home when the board asks, and somebody looks once a day.

    \b
    Examples:
      rillkeeper season my-plot.toml --from 05-15 --to 09-15 --page season.html
      rillkeeper season my-plot.toml --years 200 --resume plot.seasons
      rillkeeper season my-plot.toml --compare "battery.capacity=60 Ah,80 Ah,100 Ah"
    """
    output_file.check_folders(csv_file, page_file, kept_file)
    if page_file:
        output_file.need_pictures(Path(page_file))
    found = with_learned(load_site(site) if site else demo_site(), learned_file)
    found, nights = _span(_with_habits(found), from_day, to_day)
    weather: dict[int, Weather] = {}
    left_out = ""
    if weather_file:
        weather, left_out = years_of(read_file(Path(weather_file)), found, nights, seed)
    numbers = sorted(weather)[:years] if weather else range(years or 10)
    question = Question(
        variants=_variants(found, compare),
        nights=nights,
        seed=seed,
        numbers=numbers,
        weather={number: weather[number] for number in numbers} if weather else {},
        rates=read_rates(Path(rates_file)) if rates_file else (),
        wear=Wear(battery_wear, pump_wear),
    )
    total = len(numbers) * len(question.variants)
    crew = min(workers or os.cpu_count() or 1, total)
    if address:
        click.echo(f"trying the scheduler at {address}, {CONNECT_S:.0f} s at the most", err=True)
    with _kept(kept_file, question.mark) as kept, _progress(total, kept_file) as told:
        variants = question.answer(kept, crew, address, told)
        _tell(variants, question, left_out, as_json)
        if csv_file:
            text = csv_text(variants)
            output_file.save(
                "csv", csv_file, lambda path: path.write_text(text, encoding="utf-8", newline="")
            )
        if page_file:
            output_file.save("page", page_file, lambda path: _write_page(variants, nights, path))


def _tell(variants: list[Variant], question: Question, left_out: str, as_json: bool) -> None:
    if as_json:
        click.echo(json_text(document(variants, question.nights, question.seed)))
        return
    first = variants[0]
    show(first.site.name)
    for sentence in words.sentences(first, question.nights):
        show(sentence)
    if left_out:
        show(left_out)
    tables = [words.figure_table(first), words.calendar_table(first)]
    if len(variants) > 1:
        tables.insert(0, words.compare_table(variants))
    for table in tables:
        show(*on_terminal(table))


def _write_page(variants: list[Variant], nights: int, path: Path) -> None:
    from rillkeeper.pages.season import write  # Heavy: only where a page is asked for.

    write(variants, nights, path)


def _with_habits(site: Site) -> Site:
    """The site without its planned trips; with a habit where its file has none."""
    home = site.home
    if home == HomeSpec():
        home = HomeSpec(when_asked=True, looks_every=1)
    trips = () if home.when_asked or home.every_nights else site.battery_trips
    return replace(site, home=home, battery_trips=trips, faults=())


def _span(site: Site, from_day: str | None, to_day: str | None) -> tuple[Site, int]:
    """The site from the first night's day of the year on, and how many nights."""
    first = _day_of_year(from_day, "--from") if from_day else site.weather.day_of_year
    nights = NIGHTS
    if to_day:
        nights = (_day_of_year(to_day, "--to") - first) % 365 + 1
        if nights > NIGHTS_MAX:
            raise UsageMistake(f"--to {to_day}: {nights} nights; {NIGHTS_MAX} at the most")
    elif from_day is None:
        return site, nights
    # What the site file calls usual is so on its own day of the year.
    usual = spec_on(site.weather, first - site.weather.day_of_year)
    return replace(site, weather=replace(usual, day_of_year=first)), nights


def _day_of_year(text: str, option: str) -> int:
    whole = text if re.fullmatch(r"\d{4}-\d\d-\d\d", text) else f"2026-{text}"
    try:
        return date.fromisoformat(whole).timetuple().tm_yday
    except ValueError:
        raise UsageMistake(f'{option} "{text}" is not a day; example: {option} 05-15') from None


def _variants(site: Site, compare: str | None) -> tuple[tuple[str, Site], ...]:
    """The site, or its variants by name."""
    if compare is None:
        return ((site.name, site),)
    key, equals, text = compare.partition("=")
    key, texts = key.strip(), [each for each in text.split(",") if each.strip()]
    least, most = VARIANTS
    if not equals or not least <= len(texts) <= most:
        raise UsageMistake(
            f'--compare "{compare}": give a key and {least} to {most} values, as '
            '"battery.capacity=60 Ah,80 Ah"'
        )
    try:
        find_row(key)
        check_set(site, key)
    except UnknownKey as error:
        raise UsageMistake(f"--compare: {error}") from None
    values = parse_values("--compare", key, texts, site)
    found = []
    for word, value in zip(texts, values, strict=True):
        changed = with_value(site, key, value)
        mistakes = conflicts(changed)
        if mistakes:
            raise SiteError("--compare", list(mistakes))
        found.append((f"{key.rpartition('.')[2]} {word.strip()}", changed))
    return tuple(found)


@contextmanager
def _kept(file: str | None, mark: str) -> Iterator[Kept]:
    """The results: in the file that was named, or in one that is gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        kept = Kept(Path(file) if file else Path(folder) / "seasons", mark)
        try:
            yield kept
        finally:
            kept.close()


@contextmanager
def _progress(total: int, kept_file: str | None) -> Iterator[Callable[[int], None]]:
    """Tells how many seasons are done and how long the rest will take."""
    begun_s = told_s = monotonic()
    first: list[int] = []

    def tell(done: int) -> None:
        nonlocal told_s
        if not first:
            first.append(done)
        now_s = monotonic()
        fresh = done - first[0]
        if fresh and now_s - told_s >= TELL_S and done < total:
            told_s = now_s
            left_s = (now_s - begun_s) / fresh * (total - done)
            click.echo(f"{done} of {total} seasons, some {duration_text(left_s)} left", err=True)

    try:
        yield tell
    except KeyboardInterrupt:
        if kept_file:
            click.echo(f"what is done is kept: go on with --resume {kept_file}", err=True)
        raise
