"""The bench of `why` at its smallest: two weeks judged, and their rows."""

import pytest

from rillkeeper.inquiry.why.causes import CAUSES, NONE
from rillsim.faults.catalogue import BY_NAME
from tests.bench import why
from tests.bench.table import table_lines
from tests.host.inquiry.why.conftest import NIGHTS, ONSET_NIGHT, Bench

pytestmark = pytest.mark.xdist_group("why")


@pytest.fixture(autouse=True)
def _short_weeks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(why, "NIGHTS", NIGHTS)
    monkeypatch.setattr(why, "ONSET_NIGHT", ONSET_NIGHT)


def test_every_cause_is_measured() -> None:
    assert set(why.CASES) == {cause.name for cause in CAUSES}
    assert {fault for fault, *_ in why.CASES.values()} <= set(BY_NAME)
    assert set(why.DRIFTS) <= set(why.CASES)


def test_two_weeks_make_their_rows(bench: Bench) -> None:
    place = why.Place(bench.site, bench.settings, bench.signatures)
    told = [
        why.judge(why.Job(place, 341)),
        why.judge(why.Job(place, 342, "cable or clamp resistance", "moderate", 0.07)),
    ]
    assert [one.kind for one in told] == ["right", "right"]
    assert all(one.seen for one in told)
    lines = why.confusion(told)
    assert f"  {NONE}: 1 x {NONE}" in lines
    rows = [why._false_alarms(told), why._by_level(told, "moderate")]
    alarms, moderate = table_lines(rows)[2:]
    assert "0 in 1 weeks" in alarms
    assert "1 of 1, 0 wrong" in moderate


def test_what_cannot_be_seen_is_told_apart(bench: Bench) -> None:
    """A strainer with a tenth of it blocked changes nothing that the two sensors could feel."""
    place = why.Place(bench.site, bench.settings, bench.signatures)
    told = why.judge(why.Job(place, 343, "strainer blocking", "mild", 0.1))
    assert told.kind == "nothing"
    assert not told.seen
