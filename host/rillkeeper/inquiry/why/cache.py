"""Signatures kept on disk, so that a site is tried out once: a file that is not right is ignored.

The name of a file is a hash of all that its content depends on: the site, the board's settings,
and the very code of plant, board and trials. A change of any of them makes another name.
"""

import hashlib
import json
import os
from collections.abc import Callable, Iterator
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

import keeper
import rillsim
from rillkeeper import runlog
from rillkeeper.data_folder import data_folder
from rillkeeper.inquiry import why
from rillkeeper.inquiry.why.bends import Bend
from rillkeeper.inquiry.why.signatures import Signature, Signatures, work_out
from rillkeeper.inquiry.why.signs import SIGN_COUNT
from rillsim.site import HomeSpec, PlotSpec, Site, WeatherSpec

FOLDER = "signatures"
KEPT_MAX = 20
"""Files; the oldest go."""
_READ_BY_TRIALS = ("lines", "runs", "nights", "batteries")
_TRY = (
    *(
        "trials",
        "signatures",
        "bends",
        "signs",
        "sound_site",
        "attempts",
        "causes",
        "failure_modes",
    ),
    "cache",
)
"""What weighs and says comes after the trials: a better sentence does not cost them anew."""


def signatures_of(
    site: Site,
    settings: dict[str, int],
    progress: Callable[[float], None] | None = None,
    folder: Path | None = None,
) -> Signatures:
    """From the disk where they are there and whole, else worked out, and kept."""
    folder = data_folder() / FOLDER if folder is None else folder
    file = folder / f"{key_of(site, settings)}.json"
    found = load(file)
    if found is None:
        found = _worked_out(site, settings, progress)
        save(found, file)
    return found


def _worked_out(
    site: Site, settings: dict[str, int], progress: Callable[[float], None] | None
) -> Signatures:
    """By all processors; where a system does not let processes be started, by this one alone."""
    try:
        return work_out(site, settings, progress, workers=os.cpu_count() or 1)
    except (BrokenProcessPool, OSError, NotImplementedError):
        return work_out(site, settings, progress)


def key_of(site: Site, settings: dict[str, int]) -> str:
    """A name for all that the signatures depend on."""
    bare = replace(
        site,
        name="",
        units="metric",
        fixed="",
        plot=PlotSpec(),
        weather=WeatherSpec(),
        faults=(),
        battery_trips=(),
        home=HomeSpec(),
        ranges=(),
    )
    text = repr(bare) + repr(sorted(settings.items())) + _code()
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def save(signatures: Signatures, file: Path) -> None:
    """Write a file, whole or not at all; a disk that cannot be written is no matter."""
    with suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        passing = file.with_suffix(f".{os.getpid()}.new")
        passing.write_text(_text(signatures), encoding="ascii")
        passing.replace(file)
        kept = sorted(file.parent.glob("*.json"), key=lambda one: one.stat().st_mtime)
        for old in kept[:-KEPT_MAX]:
            old.unlink()


def load(file: Path) -> Signatures | None:
    """What a file holds; None where it is not there, torn, or not what it should be."""
    try:
        text = file.read_text(encoding="ascii")
        head, _, body = text.partition("\n")
        if head != _sum(body):
            return None
        return _signatures(json.loads(body))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _text(signatures: Signatures) -> str:
    body = json.dumps(
        {
            "healthy": signatures.healthy.tolist(),
            "noise": signatures.noise.tolist(),
            "tolerances": signatures.tolerances.tolist(),
            "modes": {
                key: {
                    "severities": one.severities.tolist(),
                    "effects": one.effects.tolist(),
                    "outcomes": one.outcomes,
                    "bend": _bend_text(one.bend),
                }
                for key, one in signatures.modes.items()
            },
        },
        allow_nan=False,
    )
    return f"{_sum(body)}\n{body}"


def _signatures(read: dict[str, Any]) -> Signatures:
    found = Signatures(
        healthy=np.array(read["healthy"], dtype=float),
        noise=np.array(read["noise"], dtype=float),
        tolerances=np.array(read["tolerances"], dtype=float),
        modes={
            key: Signature(
                np.array(one["severities"], dtype=float),
                np.array(one["effects"], dtype=float),
                tuple((str(first), str(second)) for first, second in one["outcomes"]),
                _bend(one["bend"]),
            )
            for key, one in read["modes"].items()
        },
    )
    if found.healthy.shape[-1] != SIGN_COUNT or found.noise.shape != (SIGN_COUNT,):
        raise ValueError("of another version")
    return found


def _bend_text(bend: Bend | None) -> dict[str, Any] | None:
    if bend is None:
        return None
    return {
        "place": bend.place,
        "by_tolerance": bend.by_tolerance.tolist(),
        "by_volt": bend.by_volt.tolist(),
        "volts": bend.volts.tolist(),
    }


def _bend(read: dict[str, Any] | None) -> Bend | None:
    if read is None:
        return None
    arrays = (np.array(read[key], dtype=float) for key in ("by_tolerance", "by_volt", "volts"))
    return Bend(int(read["place"]), *arrays)


def _sum(body: str) -> str:
    return hashlib.sha256(body.encode()).hexdigest()


@cache
def _code() -> str:
    """A hash of the code that the signatures come from."""
    digest = hashlib.sha256()
    for file in _sources():
        digest.update(file.read_bytes())
    return digest.hexdigest()


def _sources() -> Iterator[Path]:
    for package in (keeper, rillsim, runlog, why):
        for folder in package.__path__:
            for file in sorted(Path(folder).rglob("*.py")):
                if package is runlog and file.stem not in _READ_BY_TRIALS:
                    continue
                if package is not why or file.stem in _TRY:
                    yield file
