"""Every cause end to end: a week in the plant, the board's log, and what is said of it."""

from dataclasses import replace

import numpy as np
import pytest

from keeper.hand import RELEARN
from rillkeeper.display_units import Shown
from rillkeeper.inquiry.why.answer import headline_of, when_text
from rillkeeper.inquiry.why.attempts import by_a_hair
from rillkeeper.inquiry.why.causes import BATTERY, CAUSES, NONE
from rillkeeper.inquiry.why.diagnosis import changed_on, diagnose
from rillkeeper.inquiry.why.onset import BEFORE, onsets_of, quiet_log_chance
from rillkeeper.inquiry.why.sign_words import evidence_words
from rillkeeper.inquiry.why.signs import SIGN_PLACE, SignReader
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.site.change import value_of, with_value
from rillsim.faults.catalogue import BY_NAME
from rillsim.replay import replay
from rillsim.site import FaultSpec
from tests.host.inquiry.why.conftest import ONSET_NIGHT, Bench, fault

pytestmark = pytest.mark.xdist_group("why")

ALONE = {
    "strainer blocking": ("strainer_blocking", 0.85),
    "foot valve leaking": ("foot_valve_leak", 0.02),
    "hose burst or slipped": ("hose_burst", 0.2),
    "nozzle worn or gone": ("nozzle_worn", 0.5),
    "pump stiff or stuck": ("pump_stalled", 0.3),
    "cable or clamp resistance": ("corroded_clamp", 0.07),
    "tired battery": ("battery_tired", 0.8),
    "battery not full": ("flat_battery", 0.2),
    "pressure sensor off or stuck": ("pressure_offset", -0.4),
    "battery reading off or stuck": ("battery_offset", -0.4),
}
"""Moderate troubles that the two sensors can tell from all others."""
IN_A_GROUP = {
    "suction air leak": ("air_leak", 0.1),
    "pump worn": ("pump_worn", 0.35),
    "relay worn": ("relay_worn", 0.3),
    "hose kinked or crushed": ("hose_kinked", 0.75),
    "sprinkler blocked": ("sprinkler_blocked", 0.15),
}
"""Those that look like another one."""


def test_every_cause_of_the_catalogue_is_known() -> None:
    always = [cause for cause in CAUSES if not cause.needs]
    shares = [cause.share_of(mode) for cause in always for mode in cause.modes]
    assert sum(shares) == pytest.approx(1.0)
    for cause in CAUSES:
        assert {mode.fault for mode in cause.modes} <= set(BY_NAME)
        assert cause.name != NONE


@pytest.mark.parametrize("name", ALONE)
def test_a_cause_that_is_named_alone(bench: Bench, name: str) -> None:
    week = bench.week(311, fault(*ALONE[name]))
    found = bench.judge(week)
    assert found.first == (name,)
    first = found.findings[0]
    assert first.since == week.start_day + ONSET_NIGHT - 1
    wanted = abs(ALONE[name][1])
    if first.mode.fault == ALONE[name][0] and name != "foot valve leaking":  # It saturates.
        assert first.severity == pytest.approx(wanted, rel=0.35)
    assert first.cause.look in headline_of(found).look


@pytest.mark.parametrize("name", IN_A_GROUP)
def test_a_cause_that_looks_like_another(bench: Bench, name: str) -> None:
    """The group is said as such, the cheapest look first."""
    found = bench.judge(bench.week(312, fault(*IN_A_GROUP[name])))
    assert name in found.first or f"{name} (" in headline_of(found).sentence, "not ruled out"
    assert len(found.first) == 2, "who is told more to look at knows no better where to begin"
    efforts = [cause.effort_min for cause in found.alike]
    assert efforts == sorted(efforts)
    assert "cannot tell" in headline_of(found).sentence


def test_sound_weeks_have_nothing_wrong(bench: Bench) -> None:
    for seed in (313, 314):
        found = bench.judge(bench.week(seed))
        assert found.first == ()
        assert found.nothing > 0.8
        assert headline_of(found).sentence.startswith("Nothing is wrong")


def test_a_drift_is_seen_as_one(bench: Bench) -> None:
    grows = FaultSpec("corroded_clamp", 2, -8 * 3600.0, 0.15, grows_s=5 * 86400.0)
    found = bench.judge(bench.week(316, grows, nights=6))
    assert found.first == ("cable or clamp resistance",)
    assert when_text(found, found.findings[0]).startswith("growing")


def test_a_trouble_that_went_away(bench: Bench) -> None:
    """Somebody shut the tap for one night: the board stopped, and the next night was sound."""
    shut = FaultSpec("outlet_shut", 3, -3600.0, 1.0, duration_s=6 * 3600.0)
    found = bench.judge(bench.week(317, shut))
    assert "sprinkler blocked" in found.first
    assert when_text(found, found.findings[0]).endswith("(night 3) only")
    told = evidence_words(found, found.findings[0], Shown())
    assert "line shut" in told, "the name that the report has for it"


def test_two_troubles_at_once(bench: Bench) -> None:
    week = bench.week(318, fault("corroded_clamp", 0.1, 2), fault("foot_valve_leak", 0.05, 4))
    found = bench.judge(week, troubles=4)
    named = {trouble.finding.cause.name for trouble in found.troubles}
    assert named == {"cable or clamp resistance", "foot valve leaking"}


def test_direct_findings_of_the_board(bench: Bench) -> None:
    """A channel that reads nonsense leaves no run at all: the refusals tell."""
    found = bench.judge(bench.week(319, fault("pressure_channel_open", 1.0)))
    assert found.first == ("pressure sensor off or stuck",)
    found = bench.judge(bench.week(320, fault("relay_welded", 1.0)))
    assert found.first == ("relay worn",)


def test_a_blown_fuse_speaks_of_a_stuck_pump(bench: Bench) -> None:
    """The records stop as soon as the relay closes, and no night follows."""
    found = bench.judge(bench.week(323, fault("pump_stalled", 1.0)))
    assert "pump stiff or stuck" in found.first


def test_one_night_is_judged_by_the_model_alone(bench: Bench) -> None:
    found = bench.judge(bench.week(321, nights=1))
    assert found.first == ()
    assert "nothing to compare it with yet" in headline_of(found).sentence


def test_nothing_is_lost_with_the_clock(bench: Bench) -> None:
    """Two nights without the time, and the clamp is found all the same."""
    week = bench.week(322, fault("corroded_clamp", 0.1))
    lines = read_log(week.log)
    lost = {week.start_day + 3, week.start_day + 4}
    entries = tuple(replace(entry, trusted=entry.night not in lost) for entry in lines.entries)
    evidence = nights_of(replace(lines, entries=entries), bench.site.board).acted
    found = diagnose(evidence, bench.site, bench.settings, bench.signatures, 1)
    assert found.first == ("cable or clamp resistance",)


def test_the_chances_of_all_onsets_are_one(bench: Bench) -> None:
    """Nothing, or one trouble that begins somewhere: no chance is given twice."""
    found = bench.judge(bench.week(321, nights=1))
    onsets = onsets_of(found.attempts)
    begun = np.exp([onset.log_chance for onset in onsets if onset.half])
    first = [onset for onset in onsets if not onset.half and onset.profile.all()]
    assert np.exp(first[0].log_chance) == pytest.approx(BEFORE)
    assert begun.sum() < 0.01
    assert np.exp(quiet_log_chance(1)) + BEFORE < 1.0


def test_batteries_need_no_trial(bench: Bench) -> None:
    kept = set(bench.signatures.modes)
    for cause in CAUSES:
        for mode in cause.modes_on(bench.site.board):
            assert (mode.key in kept) == (cause.kind != BATTERY)


@pytest.mark.parametrize(
    ("name", "severity", "cause"),
    [
        ("sprinkler_blocked", 0.15, "sprinkler blocked"),
        ("nozzle_worn", 0.5, "nozzle worn or gone"),
        ("hose_kinked", 0.8, "hose kinked or crushed"),
    ],
)
def test_what_begins_on_the_second_night_is_not_told_upside_down(
    bench: Bench, name: str, severity: float, cause: str
) -> None:
    """It was once said that the contrary had been wrong on the first night, for a while."""
    found = bench.judge(bench.week(325, fault(name, severity, 2), nights=5))
    assert cause in found.first
    assert found.findings[0].onset.night == 1


def test_a_reading_that_goes_up_is_told_from_a_charge(bench: Bench) -> None:
    """The board takes it for a battery that was charged; but no battery came, and there is no
    panel."""
    week = bench.week(312, fault("battery_offset", 0.4))
    evidence = nights_of(read_log(week.log), bench.site.board, complete=True).acted
    assert {(run.battery, run.stands) for run in evidence.runs} == {(1, False), (2, True)}
    assert bench.judge(week).first == ("battery reading off or stuck",)


def test_where_a_panel_charges_the_rise_is_as_it_should_be(bench: Bench) -> None:
    """The same log: without a panel the battery goes on as it was, and the reading stands out."""
    week = bench.week(312, fault("battery_offset", 0.4))
    evidence = nights_of(read_log(week.log), bench.site.board, complete=True).acted
    after = [run.stands for run in evidence.runs]
    sunny = replace(bench.site, solar=replace(bench.site.solar, power_w=20.0))
    place = SIGN_PLACE["rest_voltage"]
    jumps_v = []
    for site in (bench.site, sunny):
        off = SignReader(site, bench.settings).signs(evidence).values[:, place]
        jumps_v.append(off[after].mean() - off[np.logical_not(after)].mean())
    assert jumps_v[0] == pytest.approx(0.16, abs=0.02), "as much as the reading is off"
    assert jumps_v[1] < jumps_v[0] - 0.02


def test_a_softer_hose_than_the_file_has_is_nothing_wrong(bench: Bench) -> None:
    """A look in the midst of the fall finds far more left, in all nights alike."""
    truth = with_value(bench.site, "line.modulus", 0.55 * value_of(bench.site, "line.modulus"))
    evidence = nights_of(
        read_log(replay(truth, bench.settings, nights=4, seed=342, fast=True).log),
        bench.site.board,
    ).acted
    found = diagnose(evidence, bench.site, bench.settings, bench.signatures)
    decays = [SIGN_PLACE[key] for key in ("decay_500", "decay_1000", "decay_2000")]
    assert np.nanmax(found.comparison.off[:, decays]) > 0.1
    assert not found.named


def test_a_line_shut_at_once_has_no_pressure_to_go_by(bench: Bench) -> None:
    """Its stop is no matter of a hair, however close to the limit the first reading past it."""
    week = bench.week(343, fault("outlet_shut", 1.0))
    evidence = nights_of(read_log(week.log), bench.site.board, complete=True).acted
    shut = next(run for run in evidence.runs if run.rules == ("dead head",) and not run.learned)
    ran = next(run for run in evidence.runs if run.learned)
    (trip,) = shut.trips
    close = (replace(trip, value=trip.limit + 1),)
    assert not by_a_hair(replace(shut, trips=close), "dead head")
    assert by_a_hair(replace(ran, trips=close), "dead head")


def test_nights_before_a_change_of_nozzle_are_left_alone(bench: Bench) -> None:
    """The person said so to the board, before that night's run or after it."""
    lines = read_log(bench.week(326, nights=3).log)
    start = next(n for n, one in enumerate(lines.entries) if one.kind == "start")
    second = lines.entries[0].night + 1
    told = replace(
        lines.entries[start],
        kind="hand",
        night=second,
        numbers={"command": RELEARN, "value": 0},
    )
    before, after = (
        next(
            n for n, one in enumerate(lines.entries) if one.night == night and one.kind == "start"
        )
        for night in (second, second + 1)
    )
    for place, first in ((before, second), (after, second + 1)):
        entries = (*lines.entries[:place], told, *lines.entries[place:])
        nights = nights_of(replace(lines, entries=entries), bench.site.board).acted
        assert changed_on(nights) == first
        found = diagnose(nights, bench.site, bench.settings, bench.signatures, 1)
        assert [night.day for night in found.evidence.nights][0] == first
