"""The campaign says its seeds, repeats them, and fails where it should."""

import re

import pytest
from hypothesis import settings

from tests import effort
from tests.campaign import __main__ as campaign
from tests.campaign.part import Case, Part, run


def odd_is_wrong(seed: int) -> Case:
    return Case(2, ["odd"] if seed % 2 else [])


def falls_over(seed: int) -> Case:
    raise ValueError(f"seed {seed}\nand much more")


def test_seeds_count_up_and_each_failure_says_its_own(capsys: pytest.CaptureFixture[str]) -> None:
    outcome = run(Part("some", odd_is_wrong), 10, 4, 0.0)
    assert (outcome.seeds, outcome.cases, outcome.failed) == (4, 8, True)
    assert outcome.failures == [(11, "odd"), (13, "odd")]
    assert outcome.repeat() == "make campaign SEED=10 ARGS='--only some --seeds 4'"
    said = capsys.readouterr().err
    assert "some: seed 12\n" in said
    assert "make campaign SEED=13 ARGS='--only some --seeds 1'\n" in said


def test_one_seed_is_tried_however_short_the_time_and_where_nothing_is_drawn() -> None:
    assert run(Part("some", odd_is_wrong), 10, None, 0.0).seeds == 1
    assert run(Part("some", odd_is_wrong, draws=False), 10, 5, 0.0).seeds == 1


def test_what_falls_over_is_a_failure() -> None:
    assert run(Part("bad", falls_over), 3, 1, 0.0).failures == [(3, "ValueError: seed 3")]


@pytest.mark.parametrize(("wrong", "failed"), [(0, False), (4, False), (5, True)])
def test_a_share_of_failures_may_be_allowed(wrong: int, failed: bool) -> None:
    """Of 100 with a chance of 1 % each: more than 4 come once in 291 times (binomial)."""

    def first_are_wrong(seed: int) -> Case:
        return Case(1, ["wrong"] if seed < wrong else [])

    part = Part("share", first_are_wrong, failures_allowed=0.01)
    assert run(part, 0, 100, 0.0).failed is failed


def test_the_table_and_the_status(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(campaign, "PARTS", (Part("some", odd_is_wrong), Part("bad", falls_over)))
    assert campaign.main(["--only", "some", "--seed", "20", "--seeds", "1"]) == 0
    assert campaign.main(["--seed", "20", "--seeds", "2"]) == 1
    said = capsys.readouterr().out
    assert "some  20    2      4      1         0" in said
    assert said.endswith("\nfailed: some, bad\n")
    assert campaign.main(["--only", "some", "--seeds", "1", "--seed", "0"]) == 0
    campaign.main(["--only", "some", "--seeds", "1"])
    said = capsys.readouterr().err
    *_, given, drawn = map(int, re.findall("campaign from seed ([0-9]+)", said))
    assert given == 0
    assert drawn >= campaign.SEEDS[0]


def test_here_nothing_is_drawn() -> None:
    """The same examples on every machine, none kept from the last run, no time that decides."""
    assert not effort.IN_CAMPAIGN
    assert settings.default.derandomize
    assert settings.default.database is None
    assert settings.default.deadline is None
