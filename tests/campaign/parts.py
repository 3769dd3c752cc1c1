"""The parts of a campaign: what each tries with one seed."""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from rillkeeper.board.proof.rounds import NAMES
from tests.bench import noise
from tests.campaign import (
    battery_sweep,
    both,
    both_untold,
    bound,
    early,
    glides,
    mutants,
    nights,
    pairs,
    phases,
    untold,
    why,
    wild_settings,
)
from tests.campaign.part import EVERYTHING, Case, Part, of_seeds
from tests.effort import VARIABLE
from tests.host.board.proof.rehearsed import failures_of
from tests.power.__main__ import sweeps
from tests.power.flashcuts import MIXTURE
from tests.scenarios.draw import draw_site
from tests.scenarios.drawn_story import wrong_story
from tests.scenarios.test_no_false_trip import NIGHTS, wrong, wrong_on_wide_codes
from tests.scenarios.test_stepping import must_step_over
from tests.scenarios.test_trips_on_drawn_sites import RULES, must_trip

ROOT = Path(__file__).parents[2]
WIDE_CODES_EACH = 6
"""Each so manieth seed also on the converter with wide codes."""
NOISE_BYTES = 400_000


def properties(seed: int) -> Case:
    """Every test that hypothesis draws for, with this seed and its full number of examples."""
    words = ["-q", "-n", "0", "-p", "no:cacheprovider", "-m", "hypothesis", "--tb=short"]
    pytest = subprocess.Popen(
        [sys.executable, "-m", "pytest", *words, f"--hypothesis-seed={seed}", "tests"],
        cwd=ROOT,
        env={**os.environ, VARIABLE: "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert pytest.stdout is not None
    said = ""
    for line in pytest.stdout:  # Its own progress, and what failed.
        print(line, end="", file=sys.stderr, flush=True)
        said += line
    tried = sum(map(int, re.findall(r"(\d+) (?:passed|failed)", said)))
    failed = re.findall(r"^(?:FAILED|ERROR) .*", said, re.MULTILINE)
    if pytest.wait() != 0 and not failed:
        failed = [f"pytest ended with status {pytest.returncode}"]
    return Case(tried, failed)


def sites(seed: int) -> Case:
    """A drawn site: a sound week without a trip, and three troubles that each must trip."""
    site = draw_site(seed, NIGHTS)
    if site is None:
        return Case(0)
    case = Case(1 + len(RULES), [f"sound week: {line}" for line in wrong(seed, site)])
    if seed % WIDE_CODES_EACH == 0:
        case.tried += 1
        case.failures += [f"wide codes: {line}" for line in wrong_on_wide_codes(seed, site)]
    for rule in RULES:
        try:
            must_trip(f"draw_site({seed}, {NIGHTS})", site, seed, rule)
        except AssertionError as error:
            case.failures.append(f"{rule}: {str(error).splitlines()[0]}")
    return case


def stories(seed: int) -> Case:
    """Five nights of ordinary deeds and mishaps: each has its water."""
    found = wrong_story(seed)
    return Case(0) if found is None else Case(1, found)


def stepping(seed: int) -> Case:
    """The demonstration week, ticked through and stepped over."""
    must_step_over(NIGHTS, seed)
    return Case(1)


def fuzz(seed: int) -> Case:
    """Noise on the serial line of the whole firmware: the relay stays as it is."""
    with tempfile.TemporaryDirectory() as folder:
        sent, _, closed, opened = noise.relay_under_noise(Path(folder), NOISE_BYTES, seed)
    wrong_ticks = f"of {sent} bytes: {closed} ticks closed while idle, {opened} open while running"
    return Case(1, [wrong_ticks] if closed + opened else [])


def power() -> Case:
    """Whole flashings cut at every operation; nothing is drawn."""
    case = Case(0)
    for name, found in sweeps():
        case.tried += sum(found.values())
        if found[MIXTURE]:
            case.failures.append(f"flashing {name}: {found[MIXTURE]} cuts leave a mixture")
    return case


def rehearsal(name: str) -> Case:
    """A round of the proof at a desk: by the commands alone, on a virtual board."""
    with tempfile.TemporaryDirectory() as folder:
        return Case(1, failures_of(Path(folder), name))


PARTS = (
    phases.PART,
    pairs.PART,
    nights.PART,
    glides.PART,
    wild_settings.PART,
    mutants.PART,
    of_seeds("properties", properties, "Every test that draws, with its full number of examples."),
    of_seeds("sites", sites, "Drawn sites: a sound week, and three troubles that must trip."),
    of_seeds(
        "stories", stories, "Five nights of what people do, drawn: each watered, none missed."
    ),
    of_seeds(
        "battery", battery_sweep.attempt, "Batteries carried home or under a panel: none lost."
    ),
    of_seeds("stepping", stepping, "A week ticked through and stepped over: the same log."),
    why.PART,
    bound.PART,
    untold.PART,
    early.PART,
    both.PART,
    both_untold.PART,
    of_seeds("fuzz", fuzz, "Noise on the serial line: the relay stays as it is."),
    Part(
        "rehearsal",
        lambda first: NAMES,
        lambda case: vars(rehearsal(case)),
        "Each round of the proof at a desk, with the hands of the virtual board: all passed.",
        made_of=EVERYTHING,
    ),
    Part(
        "power",
        lambda first: ["all"],
        lambda case: vars(power()),
        "Whole flashings cut at every operation: none leaves a mixture.",
        made_of=EVERYTHING,
    ),
)
