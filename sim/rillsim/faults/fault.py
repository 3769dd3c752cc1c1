"""What a fault is."""

from dataclasses import dataclass

from rillsim.faults import acts, signs


@dataclass(frozen=True)
class Fault:
    """One row of the catalogue."""

    name: str
    sentence: str
    severity_means: str
    act: acts.Act
    """Turns the knobs for a severity of 0 to 1."""
    felt: signs.Sign
    """True where the plant shows it."""
    grows_s: float = 0.0
    """Time in which the severity grows from nothing; 0 is at once."""
    both_ways: bool = False
    """True where a severity below 0 is the same fault in the other direction."""
    needs: str = ""
    """What must be fitted on a board that can have it: a field of ``BoardSpec``."""
