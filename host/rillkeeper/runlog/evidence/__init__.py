"""What a run log holds as evidence: one record a run and one a night, out of the board's lines."""

from rillkeeper.runlog.evidence.nights import evidence_of
from rillkeeper.runlog.evidence.records import (
    Decay,
    Evidence,
    Judgement,
    Learned,
    Minute,
    NightEvidence,
    RunEvidence,
    Stop,
)

__all__ = (
    "Decay",
    "Evidence",
    "Judgement",
    "Learned",
    "Minute",
    "NightEvidence",
    "RunEvidence",
    "Stop",
    "evidence_of",
)
