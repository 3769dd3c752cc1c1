"""Signatures on disk: what is not right is worked out again, and nothing else is trusted."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from rillkeeper.inquiry.why import cache, signatures
from rillkeeper.inquiry.why.cache import key_of, load, save, signatures_of
from rillkeeper.inquiry.why.signatures import Signatures
from rillsim.site import FaultSpec
from tests.host.inquiry.why.conftest import Bench

pytestmark = pytest.mark.xdist_group("why")


def test_what_was_kept_comes_back(bench: Bench, tmp_path: Path) -> None:
    file = tmp_path / "deep" / "one.json"
    save(bench.signatures, file)
    found = load(file)
    assert found is not None
    assert np.array_equal(found.healthy, bench.signatures.healthy)
    assert found.modes.keys() == bench.signatures.modes.keys()
    for key, one in bench.signatures.modes.items():
        assert np.array_equal(found.modes[key].effects, one.effects)
        assert found.modes[key].outcomes == one.outcomes
        bend = found.modes[key].bend
        assert (bend is None) == (one.bend is None)
        if bend and one.bend:
            assert bend.place == one.bend.place
            for name in ("by_tolerance", "by_volt", "volts"):
                assert np.array_equal(getattr(bend, name), getattr(one.bend, name))


@pytest.mark.parametrize("spoil", ["", "short", "flipped", "not json", "other shape"])
def test_a_spoiled_file_is_ignored(bench: Bench, tmp_path: Path, spoil: str) -> None:
    file = tmp_path / "one.json"
    save(bench.signatures, file)
    text = file.read_text()
    body = {
        "": "",
        "short": text[: len(text) // 2],
        "flipped": text.replace("0.1", "0.2", 1),
        "not json": f"{cache._sum('nonsense')}\nnonsense",
        "other shape": f"{cache._sum('{}')}\n{{}}",
    }[spoil]
    file.write_text(body)
    assert load(file) is None


def test_it_is_worked_out_once(
    bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def work(*_: object, **__: object) -> Signatures:
        asked.append("work")
        return bench.signatures

    monkeypatch.setattr(cache, "work_out", work)
    for _ in range(2):
        signatures_of(bench.site, bench.settings, folder=tmp_path)
    assert asked == ["work"]
    (file,) = tmp_path.iterdir()
    file.write_text("torn")
    signatures_of(bench.site, bench.settings, folder=tmp_path)
    assert asked == ["work", "work"]


def test_a_disk_that_cannot_be_written_is_no_matter(bench: Bench, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    save(bench.signatures, tmp_path / "file" / "one.json")
    assert load(tmp_path / "file" / "one.json") is None


def test_the_name_depends_on_what_matters(bench: Bench) -> None:
    site, settings = bench.site, bench.settings
    key = key_of(site, settings)
    assert key == key_of(
        replace(site, name="another", faults=(FaultSpec("frost", 1, 0),)), settings
    )
    assert key != key_of(replace(site, line=replace(site.line, length_m=31.0)), settings)
    assert key != key_of(site, {**settings, "prime_ms": 1 + settings["prime_ms"]})


def test_old_files_go(bench: Bench, tmp_path: Path) -> None:
    for number in range(cache.KEPT_MAX + 3):
        save(bench.signatures, tmp_path / f"{number}.json")
    assert len(list(tmp_path.iterdir())) == cache.KEPT_MAX


def test_processes_side_by_side_find_the_same(bench: Bench) -> None:
    trials = [
        signatures._Trial(charge=0.75),
        signatures._Trial(tolerance=1),
        signatures._Trial("hose_kinked", 0.9),
    ]
    shares: list[float] = []
    found = []
    for workers in (1, 2):
        with signatures._trying(bench.site, bench.settings, workers, shares.append) as tried:
            found.append([*tried(trials[:2], 0.8), *tried(trials[2:], 1.0)])
    for one, other in zip(*found, strict=True):
        np.testing.assert_array_equal(one.shown.signs, other.shown.signs)
        np.testing.assert_array_equal(one.shown.volts, other.shown.volts)
        assert one.ends == other.ends
    assert shares == pytest.approx(2 * [0.4, 0.8, 1.0])
