"""The answer: the diagnosis with its site and log, the sentence to say first, and what limits it.

A log that is nothing like its site is told as such, not as a trouble.
"""

from dataclasses import dataclass
from math import exp, isfinite

import numpy as np

from rillkeeper.display_units import Shown, counted, day_text
from rillkeeper.inquiry.why.diagnosis import NIGHTS_MAX, Diagnosis, Trouble, changed_on
from rillkeeper.inquiry.why.onset import PULSE, RAMP
from rillkeeper.inquiry.why.rank import Finding
from rillkeeper.inquiry.why.signs import SIGN_PLACE
from rillkeeper.inquiry.why.small_tests.informed import Informed
from rillkeeper.runlog.lines import RunLog
from rillkeeper.runlog.nights import nights_of
from rillsim.site import Site

_SHOWN_FROM = 0.01
_WORTH_SAYING = 0.1
ODD_SHARE = 0.6
"""Share of the signs that nothing explains, from which the site is taken for another."""
AT_ONCE = 2
"""So many troubles, all there from the first night on, are another site."""
_FAR = 4.0
_SIGNS_MIN = 6


@dataclass(frozen=True)
class Inquiry:
    """One answer to `rillkeeper why`."""

    site: Site
    diagnosis: Diagnosis
    log: RunLog
    shown: Shown
    small: Informed | None = None
    """The small tests that were made and could be made, where the log alone cannot tell."""

    @property
    def notes(self) -> list[str]:
        """What limits the answer."""
        board = self.site.board
        found = []
        if not board.pressure_fitted:
            found.append(
                "Without a pressure sensor the water's side cannot be judged: only battery, "
                "cable and what the board itself stopped for."
            )
            if board.flow_fitted:
                found.append(
                    "What a flow meter alone has told may be its own doing: a wheel that a fibre "
                    "holds looks like a pump without water."
                )
        if not board.battery_fitted:
            found.append("Without the battery's voltage the supply cannot be judged.")
        evidence = self.diagnosis.evidence
        nights = len({entry.night for entry in self.log.entries})
        changed = changed_on(nights_of(self.log, board).acted)
        if changed is not None:
            found.append(
                f"Nozzle or hose were changed, as the board was told: judged from the night of "
                f"{day_text(changed)} on."
            )
        if nights > len(evidence.nights) >= NIGHTS_MAX:
            found.append(f"The last {NIGHTS_MAX} nights of the log are judged.")
        runs = evidence.runs
        untimed = sum(run.when == "time not known" for run in runs)
        if untimed:
            found.append(
                f"The clock was lost in {counted(untimed, 'run')}; they count in the order in "
                "which they were written."
            )
        if isfinite(self.diagnosis.source_m3):
            left = self.shown.text(self.diagnosis.source_m3, "volume")
            found.append(
                f"By the litres counted {left} were left in the source, which gives its level."
            )
        elif self.site.water.stored_m3 > 0.0:
            found.append(
                "More was taken than the site file says was in the source: it was refilled, and "
                "its level is not known. After a refill: --since."
            )
        found += [gap.sentence for gap in self.log.gaps]
        if self.log.damages:
            found.append(f"{counted(len(self.log.damages), 'line')} could not be read.")
        return found


@dataclass(frozen=True)
class Headline:
    """What to say first."""

    sentence: str
    look: str
    """What to do; empty where nothing is wrong."""


def headline_of(diagnosis: Diagnosis) -> Headline:
    """The first answer."""
    if not diagnosis.named:
        return Headline(_nothing(diagnosis, len(diagnosis.evidence.nights)), "")
    first = diagnosis.troubles[0]
    together = sum(f.probability for f in diagnosis.findings if f.cause in first.causes)
    sentence = f"{trouble_text(diagnosis, first)} ({percent(together)})."
    others = _not_ruled_out(diagnosis)
    if others:
        names = ", ".join(f"{one.cause.name} ({percent(one.probability)})" for one in others)
        sentence += f" Not ruled out: {names}."
    more = len(diagnosis.troubles) - 1
    if more:
        sentence += " One more problem shows." if more == 1 else f" {more} more problems show."
    look = first.causes[0].look
    return Headline(sentence, f"Look here first: {look}" if first.alike else look)


def trouble_text(diagnosis: Diagnosis, trouble: Trouble) -> str:
    """What is wrong since when; says so where the sensors cannot tell."""
    when = when_text(diagnosis, trouble.finding)
    if not trouble.alike:
        return f"Most likely: {trouble.finding.cause.name}, {when}"
    names = trouble.names
    others = f"{', '.join(names[:-1])}, or {names[-1]}"
    return f"Something is wrong {when}, and these sensors cannot tell which: {others}"


def _not_ruled_out(diagnosis: Diagnosis) -> list[Finding]:
    """The other causes that are likely enough to be said with the first."""
    said = diagnosis.troubles[0].causes
    others = [one for one in diagnosis.findings if one.cause not in said]
    return [one for one in others if one.probability >= _WORTH_SAYING]


def shown_findings(diagnosis: Diagnosis) -> list[Finding]:
    """The causes of the first trouble that are worth a line."""
    worth = [one for one in diagnosis.findings if one.probability >= _SHOWN_FROM]
    return worth[:6] if diagnosis.named else worth[:3]


def when_text(diagnosis: Diagnosis, finding: Finding) -> str:
    """From when on, and until when where it went away."""
    onset = finding.onset
    begun = f"the night of {day_text(finding.since)} (night {onset.night + 1})"
    if onset.shape == PULSE:
        last = int(diagnosis.attempts.night_places[int(onset.profile.nonzero()[0][-1]) // 2])
        if last == onset.night:
            return f"in {begun} only"
        return f"from {begun} to night {last + 1}"
    if onset.night == 0 and onset.half == 0:
        return "from the first night on"
    grows = "growing since" if onset.shape == RAMP else "since"
    return f"{grows} {begun}"


def percent(probability: float) -> str:
    """A probability that never pretends to be certain.

    >>> percent(0.9999), percent(0.123), percent(0.0004)
    ('over 99 %', '12 %', 'under 1 %')
    """
    if probability > 0.99:
        return "over 99 %"
    return f"{100 * probability:.0f} %" if probability >= 0.01 else "under 1 %"


def _nothing(diagnosis: Diagnosis, nights: int) -> str:
    runs = len(diagnosis.evidence.runs)
    if not runs:
        return (
            "The pump never ran in this log, so there is nothing to judge by."
            if not any(diagnosis.attempts.outcomes)
            else "The pump never ran in this log; what the board says is in the report."
        )
    sure = percent(diagnosis.nothing)
    if nights == 1:
        return (
            f"Nothing seems wrong ({sure}): one night, with nothing to compare it with yet, is as "
            "the site's model says."
        )
    return (
        f"Nothing is wrong ({sure}): {counted(runs, 'run')} in {counted(nights, 'night')} are as "
        "this site should be."
    )


def strange_words(site: Site, settings: dict[str, int], diagnosis: Diagnosis) -> str:
    """Why this log is taken to be from another site; empty where it fits."""
    share = unexplained(diagnosis)
    always = [one.finding.cause.name for one in diagnosis.troubles if _always(one)]
    if share >= ODD_SHARE:
        why = (
            f"{100 * share:.0f} % of what was read fits neither the sound site nor any trouble "
            "of it"
        )
    elif len(always) >= AT_ONCE:
        names = f"{', '.join(always[:-1])} and {always[-1]}"
        why = f"from the first night on all of this would have to be wrong: {names}"
    else:
        return ""
    off = diagnosis.comparison.off[:, SIGN_PLACE["early_pressure"]]
    read = off[~np.isnan(off)]
    pressure = ""
    if len(read):
        factor = exp(float(np.median(read)))
        expected = Shown(site.units).text(settings["normal_pa"], "pressure")
        pressure = f"; the pressure is {factor:.2g} times the {expected} that it should be"
    return (
        f"the log is nothing like {site.name}: {why}{pressure}; is this the site file of that "
        "board?"
    )


def _always(trouble: Trouble) -> bool:
    """Whether it is there all the time."""
    return bool(trouble.finding.onset.profile.all()) and trouble.finding.onset.half == 0


def unexplained(diagnosis: Diagnosis) -> float:
    """Share of the signs that are far from the best explanation of them, whichever it is."""
    comparison = diagnosis.comparison
    read = ~np.isnan(comparison.off)
    if read.sum() < _SIGNS_MIN:
        return 0.0
    _, expected = diagnosis.fitted()
    sd = np.hypot(comparison.sd, 0.1 * expected)
    far = np.abs(comparison.off - expected) > _FAR * sd
    return float(far[read].mean())
