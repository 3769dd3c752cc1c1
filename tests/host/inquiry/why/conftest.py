"""One site that is tried out once, and short weeks on it."""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.inquiry.why.cache import FOLDER, key_of, save
from rillkeeper.inquiry.why.diagnosis import Diagnosis, diagnose
from rillkeeper.inquiry.why.signatures import Signatures, work_out
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.site.file import load_site
from rillsim.replay import Week, replay
from rillsim.site import FaultSpec, Site

NIGHTS = 4
ONSET_NIGHT = 3
SHORT_SET = """
[[set]]
start = "22:30"
run = "8 min"
runs = 2
soak = "10 min"
window = "3 h"
"""


@dataclass(frozen=True)
class Bench:
    """The site, what is known of it, and what is said of a week on it."""

    text: str
    """Its file."""
    site: Site
    settings: dict[str, int]
    signatures: Signatures

    def week(self, seed: int, *faults: FaultSpec, nights: int = NIGHTS) -> Week:
        """Replayed fast: it is the answer that is tried here."""
        return replay(self.site, self.settings, nights=nights, seed=seed, faults=faults, fast=True)

    def judge(self, week: Week, troubles: int = 1) -> Diagnosis:
        evidence = nights_of(read_log(week.log), self.site.board, complete=True).acted
        return diagnose(evidence, self.site, self.settings, self.signatures, troubles)

    def known_in(self, data_home: Path) -> None:
        """What the commands keep of this site, so that they need not try it out again."""
        folder = data_home / "rillkeeper" / FOLDER
        save(self.signatures, folder / f"{key_of(self.site, self.settings)}.json")


def fault(name: str, severity: float, night: int = ONSET_NIGHT) -> FaultSpec:
    """There since the afternoon before that night."""
    return FaultSpec(name, night, -8 * 3600.0, severity)


def site_text() -> str:
    """The demonstration without rain, trips and faults, and with short sets."""
    text = (files("rillkeeper") / "demo" / "site.toml").read_text(encoding="utf-8")
    head = text[: text.index("[[set]]")]
    return head.replace('rain_chance = "10 %"', 'rain_chance = "0 %"') + SHORT_SET


@cache
def known_bench() -> Bench:
    """Tried out once a session."""
    text = site_text()
    with TemporaryDirectory() as folder:
        file = Path(folder) / "site.toml"
        file.write_text(text, encoding="utf-8")
        site = load_site(str(file))
    settings = settings_of(site)
    return Bench(text, site, settings, work_out(site, settings))


@pytest.fixture(scope="session")
def bench() -> Bench:
    return known_bench()
