"""What `why` has found, as plain values: for the report, for `status`, and kept beside the log."""

import json
from dataclasses import asdict, dataclass
from typing import Any

from rillkeeper.inquiry.why.answer import headline_of, strange_words, trouble_text, when_text
from rillkeeper.inquiry.why.attempts import FINE
from rillkeeper.inquiry.why.diagnosis import Diagnosis, Trouble
from rillkeeper.inquiry.why.onset import PULSE
from rillsim.site import Site


@dataclass(frozen=True)
class FoundTrouble:
    """One trouble that `why` names."""

    names: tuple[str, ...]
    """Its cause, or all that look the same to these sensors; cheapest look first."""
    kinds: tuple[str, ...]
    """Of those causes: "water", "supply", "battery", "sensor", "relay"."""
    since: str
    """"since the night of Mon 13 Jul (night 5)"."""
    since_day: int
    """Day number of that night."""
    open: bool
    """Whether it is there on the last night still."""
    told: str
    """The sentence of `why`."""
    how_bad: str
    look: str
    """Where to look first."""
    rules: tuple[str, ...]
    """The rules of the board that spoke for it, by their names."""


@dataclass(frozen=True)
class Found:
    """The answer of `why` to one log."""

    sentence: str
    troubles: tuple[FoundTrouble, ...]
    """The loudest first."""
    judged: bool
    """Whether there was anything to judge by."""

    @property
    def nothing(self) -> bool:
        """Whether it says that nothing is wrong."""
        return self.judged and not self.troubles

    @classmethod
    def of_text(cls, text: str) -> "Found":
        """What `text` has written. Raises ValueError, KeyError or TypeError for anything else."""
        read: dict[str, Any] = json.loads(text)
        troubles = []
        for row in read["troubles"]:
            values: dict[str, Any] = {
                key: tuple(value) if isinstance(value, list) else value
                for key, value in row.items()
            }
            troubles.append(FoundTrouble(**values))
        return cls(str(read["sentence"]), tuple(troubles), bool(read["judged"]))

    def text(self) -> str:
        """To be kept in a file."""
        return json.dumps(asdict(self), sort_keys=True)


def found_of(diagnosis: Diagnosis, site: Site, settings: dict[str, int]) -> Found:
    """What a diagnosis comes to; a log that is nothing like the site is told as that."""
    strange = strange_words(site, settings, diagnosis)
    if strange:
        return Found(f"{strange[0].upper()}{strange[1:]}", (), judged=False)
    troubles = tuple(_trouble(diagnosis, one, site) for one in diagnosis.troubles)
    return Found(headline_of(diagnosis).sentence, troubles, bool(diagnosis.evidence.runs))


def _trouble(diagnosis: Diagnosis, trouble: Trouble, site: Site) -> FoundTrouble:
    finding = trouble.finding
    ends = diagnosis.attempts.outcomes
    spoke = [ends[place] for place in finding.explains.nonzero()[0]]
    return FoundTrouble(
        names=trouble.names,
        kinds=tuple(sorted({cause.kind for cause in trouble.causes})),
        since=when_text(diagnosis, finding),
        since_day=finding.since,
        open=finding.onset.shape != PULSE and bool(finding.onset.profile[-1] > 0.0),
        told=f"{trouble_text(diagnosis, trouble)}.",
        how_bad=finding.mode.words(finding.severity, site),
        look=trouble.causes[0].look,
        rules=tuple(dict.fromkeys(end for end in spoke if end and end != FINE)),
    )
