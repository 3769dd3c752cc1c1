"""Every page that the project makes, from the smallest nights that fill it."""

from collections.abc import Callable
from dataclasses import replace

from rillkeeper.board.proof.outcome import Outcome
from rillkeeper.board.proof.records import Proof
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import Shown
from rillkeeper.morning.coming import from_report, from_size
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.morning.weather import balance_of, read_text
from rillkeeper.site.file import demo_site
from rillsim.replay import replay
from tests.host.runlog.sample_log import Writer, minutes, sample
from tests.host.season.few import variant

WEATHER = "date,et0 mm,rain mm\n2026-06-01,4.0,0\n2026-06-02,3.0,1.5\n2026-06-03,2.0,15\n"
LOCKED_FROM = 4
NIGHTS = 30


def replayed() -> Report:
    """Two nights, the second with a burst hose."""
    site = replace(demo_site(), faults=demo_site().faults[:1], battery_trips=())
    settings = settings_of(site)
    done = replay(site, settings, nights=2, seed=1)
    return report_of(
        done.log,
        done.site,
        done.truth,
        done.trace,
        done.faults,
        soil=done.soil,
        settings=settings,
        start_day=done.start_day,
    )


def month() -> Report:
    """The report of `month_log`."""
    return report_of(month_log().lines, replace(demo_site(), name="A month nobody looked"))


def month_log() -> Writer:
    """Thirty nights: four that went well, then one that locks out, and nobody comes."""
    log = Writer()
    log.add("0 18:00:00", "boot", 0, 1, 1, 30000)
    log.add("0 18:00:00", "clock", 0, 0)
    for day in range(NIGHTS):
        log.add(f"{day} 22:00:00", "set", 1, 1, 20, 1, 1200)
        if day < LOCKED_FROM:
            log.add(f"{day} 22:00:02", "start", 1, 1, 12640, 30000, 150, 10000)
            log.add(f"{day} 22:00:04", "primed", 2000, 150000, 12000)
            if day % 2:
                log.add(f"{day} 22:00:30", "warn", 9, 67, 60)
            minutes(log, day, 1, 20, 150000, 12000)
            log.add(f"{day} 22:20:04", "stop", 0, 1202, 150000, 11980, 4000, 320000)
            log.add(f"{day} 22:20:04", "given", 1, 0, 1200, 320000, 3200)
        elif day == LOCKED_FROM:
            log.add(f"{day} 22:00:02", "start", 1, 1, 12500, 24700, 150, 10000)
            log.add(f"{day} 22:00:37", "trip", 2, 3000, 20000, 8000, 7, 3)
            log.add(f"{day} 22:00:37", "stop", 18, 35, 3000, 11900, 104, 0)
            log.add(f"{day} 22:00:37", "given", 1, 18, 30, 0, 0)
        else:
            log.add(f"{day} 22:00:01", "skip", 1, 4, 9)
        ran = day < LOCKED_FROM
        tonight = (1202, 320000, 4100) if ran else (0, 0, 100)
        log.add(f"{day + 1} 12:00:00", "night", *tonight, 25900 - 100 * day, 58 - day, 12550)
    return log


def weathered() -> Report:
    """Three nights from a log, beside a table of weather."""
    site = replace(demo_site(), name="Three nights by hand")
    found = report_of(sample().lines, site)
    return replace(found, balance=balance_of(site, found.nights, read_text(WEATHER)))


def pages() -> dict[str, Callable[[], str]]:
    """The name of each page but one, and what makes it; `why` wants a site that was tried out."""
    from rillkeeper.design.size.what_if import Axis, vary
    from rillkeeper.design.size.what_if_tables import variation_tables
    from rillkeeper.design.size.workings import work_out
    from rillkeeper.inquiry.learn import learn
    from rillkeeper.inquiry.learn.overlay import Source
    from rillkeeper.pages import coming, plot_card, proof, report, season, size
    from rillkeeper.pages import learn as learned
    from tests.campaign import page as campaign
    from tests.campaign import phases
    from tests.campaign.part import Outcome as Tried
    from tests.host.inquiry.learn_cases import night_log, thought

    site = demo_site()

    def replayed_page() -> str:
        found = replayed()
        return report.html_of(found, [a_proof()], from_report(found))

    def size_page(*axes: Axis) -> str:
        work, found = work_out(site), vary(site, axes)
        tables = tuple(variation_tables(found, site))
        plan = coming.part_of(from_size(site))
        return size.html_of(work, size.Extra(tables, found, "", plan))

    def campaign_page() -> str:
        row = {"said": ["trip dead head"], "felt": True, "toll": {}, "capacity_ah": 80.0}
        row |= {"sound_s": 60.0, "load_sense": True, "after": []}
        harmed, wrong = row | {"toll": {"dry_s": 200.0}}, row | {"said": ["trip dry run"]}
        found = {"1": row, "2": harmed, "3": wrong, "4": row | {"said": []}}
        rows = {f"{seed}/outlet_shut/mid run": one for seed, one in found.items()}
        return campaign.html_of([Tried(phases.PART, rows, 1.0, 2214)], 1)

    def learned_page() -> str:
        return learned.html_of(learn(thought(), night_log(1)), Source("board 01ab", ""))

    bores = Axis("line.bore", (0.0127, 0.01905))
    return {
        "week": replayed_page,
        "us": lambda: report.html_of(replace(weathered(), shown=Shown("us"))),
        "month": lambda: report.html_of(month()),
        "empty": lambda: report.html_of(report_of([])),
        "size": lambda: size_page(bores),
        "coming": lambda: coming.html_of(from_size(site)),
        "card": lambda: plot_card.html_of(site),
        "proof": lambda: proof.html_of([a_proof()]),
        "learned": learned_page,
        "season": lambda: season.html_of([variant(5), variant(5)], 10),
        "campaign": campaign_page,
    }


def a_proof() -> Proof:
    proof = Proof(1, "b1", "2026-07-09T10:00:00", "2026-07-09T11:00:00", "0.1", "A1", "B2", "Ada")
    proof.outcomes = [
        Outcome("dry-run", "dry run", "passed", measured=2000, limit=2500),
        Outcome("frost", "frost", "failed", "it ran on"),
        Outcome("stall", "stall", "not proved", "no current sensor"),
    ]
    return proof
