"""What was seen, in words: each sign that speaks for a cause, with its number and unit."""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import NDArray

from rillkeeper.display_units import Shown, counted
from rillkeeper.inquiry.why.attempts import CUT, EARLY, FINE, METER
from rillkeeper.inquiry.why.diagnosis import Diagnosis
from rillkeeper.inquiry.why.rank import Finding
from rillkeeper.inquiry.why.signs import SIGN_PLACE, SIGNS
from rillkeeper.runlog.rule_text import RULES

Floats = NDArray[np.float64]

_SPEAKS = 2.5
"""A sign is told where it is off by so many deviations of its mean."""
_QUIET = 2.0
_TOLD = 3
_FELT_FROM = 0.5
"""Halves in which the trouble is at least so far grown are told of."""

Phrase = Callable[[float, Shown], str]


@dataclass(frozen=True)
class SignFamily:
    """Signs that say the same thing, the one that says it best first."""

    signs: tuple[str, ...]
    phrase: Phrase
    quiet: str
    """How it is told that it did not change."""


def _share(what: str, low: str, high: str) -> Phrase:
    def phrase(off: float, shown: Shown) -> str:
        return f"{what} {_percent(off)} {low if off < 0 else high}"

    return phrase


def _pressure(off: float, shown: Shown) -> str:
    side = "under" if off < 0 else "over"
    return f"pressure {_percent(off)} {side} what this voltage should give"


def _percent(off: float) -> str:
    """Of a logarithm.

    >>> _percent(0.7), _percent(-0.0305)
    ('101 %', '3.0 %')
    """
    percent = abs(100.0 * (exp(off) - 1.0))
    return f"{percent:.0f} %" if percent >= 10.0 else f"{percent:.1f} %"


def _rest_pressure(off: float, shown: Shown) -> str:
    pressure_pa = 1e3 * SIGNS[SIGN_PLACE["rest_pressure"]].number(abs(off))
    word = "less" if off < 0 else "more"
    return f"{shown.text(pressure_pa, 'pressure')} {word} pressure at rest"


def _decay(off: float, shown: Shown) -> str:
    return f"after the stop the pressure falls {'faster' if off < 0 else 'slower'}"


def _rest_voltage(off: float, shown: Shown) -> str:
    side = "under" if off < 0 else "over"
    return f"rest voltage {1e3 * abs(off):.0f} mV {side} what the charge used should leave"


def _fall(off: float, shown: Shown) -> str:
    return (
        f"the loaded voltage falls {1e3 * abs(off):.0f} mV {'less' if off < 0 else 'more'} a run"
    )


def _dry_sag(off: float, shown: Shown) -> str:
    word = "less" if off < 0 else "more"
    return f"without water seen the pump takes {_percent(off)} {word} of the voltage than with it"


def _flow(off: float, shown: Shown) -> str:
    side = "under" if off < 0 else "over"
    return f"metered flow {_percent(off)} {side} what this voltage should give"


def _current(off: float, shown: Shown) -> str:
    return f"the pump takes {_percent(off)} {'less' if off < 0 else 'more'} current than it should"


FAMILIES = (
    SignFamily(
        ("early_pressure", "late_pressure", "start_pressure", "stop_pressure"),
        _pressure,
        "pressure as it should be",
    ),
    SignFamily(
        ("prime",),
        _share("drawing water takes", "less time", "longer"),
        "water drawn as quickly as ever",
    ),
    SignFamily(
        ("decay_500", "decay_1000", "decay_2000"), _decay, "pressure after the stop falls as ever"
    ),
    SignFamily(("rest_pressure", "settled"), _rest_pressure, "pressure at rest unchanged"),
    SignFamily(
        ("resistance", "jump_back"),
        _share("battery, clamps and cable take", "less of the voltage", "more of the voltage"),
        "battery, clamps and cable take no more voltage than before",
    ),
    SignFamily(("early_flow", "late_flow"), _flow, "metered flow as it should be"),
    SignFamily(("early_current", "late_current"), _current, "pump current as it should be"),
    SignFamily(("dry_sag",), _dry_sag, "the pump is loaded as with water where none was seen"),
    SignFamily(("rest_voltage",), _rest_voltage, "rest voltage fits the charge used"),
    SignFamily(("fall",), _fall, "voltage falls in a run as it should"),
)


@dataclass(frozen=True)
class SignMean:
    """One sign over the halves in which a trouble is felt."""

    off: float
    sd: float
    predicted: float


def mean_of(diagnosis: Diagnosis, finding: Finding, key: str) -> SignMean | None:
    """How far a sign is off while the trouble is felt, against before it where there is one."""
    comparison = diagnosis.comparison
    place = SIGN_PLACE[key]
    felt = finding.onset.profile[SIGNS[place].half :: 2]
    off, sd = comparison.off[:, place], comparison.sd[:, place]
    read = ~np.isnan(off)
    during = read & (felt >= _FELT_FROM * max(felt.max(), 1e-9))
    before = read & (felt == 0.0)
    if not during.any() or felt.max() == 0.0:
        return None
    value = float(np.median(off[during]))
    spread = float(sd[during].mean()) / np.sqrt(during.sum())
    if before.any():
        value -= float(np.median(off[before]))
        spread = float(np.hypot(spread, sd[before].mean() / np.sqrt(before.sum())))
    else:
        spread = float(np.median(comparison.spread[during, place]))
    return SignMean(value, spread, float(np.median(finding.added[during, place])))


def evidence_words(diagnosis: Diagnosis, finding: Finding, shown: Shown) -> str:
    """What speaks for a cause, the loudest first, then what did not change."""
    loud: list[tuple[float, str]] = []
    quiet: list[str] = []
    for family in FAMILIES:
        means = [mean_of(diagnosis, finding, key) for key in family.signs]
        known = [mean for mean in means if mean is not None]
        if not known:
            continue
        best = known[0]
        size = abs(best.off) / best.sd
        foreseen = best.predicted * best.off > 0.0 and abs(best.predicted) > best.sd
        if size >= _SPEAKS and foreseen:
            loud.append((size, family.phrase(best.off, shown)))
        elif size < _QUIET and abs(best.predicted) < best.sd:
            quiet.append(family.quiet)
    loud.sort(key=lambda row: -row[0])
    parts = [*_ends(diagnosis, finding), *(text for _, text in loud[:_TOLD])]
    if not parts:
        parts = ["nothing that stands out"]
    return "; ".join([*parts, *quiet[:2]])


def _ends(diagnosis: Diagnosis, finding: Finding) -> list[str]:
    """The rules by which the board stopped while the trouble was felt."""
    attempts = diagnosis.attempts
    found: dict[str, int] = {}
    for place, outcome in enumerate(attempts.outcomes):
        if finding.explains[place] and outcome is not None and outcome != FINE:
            found[outcome] = found.get(outcome, 0) + 1
    cut = found.pop(CUT, 0) + found.pop(EARLY, 0)
    stood = found.pop(METER, 0)
    stops = [
        f"the board stopped {counted(n, 'time')}: {RULES[rule].short if rule in RULES else rule}"
        for rule, n in found.items()
    ]
    if stood:
        stops.append(f"the board found {counted(stood, 'time')}: {RULES[METER].short}")
    return [f"power was lost in {counted(cut, 'run')}", *stops] if cut else stops
