"""What came of a step."""

from dataclasses import dataclass

PASSED, FAILED, NOT_PROVED, UNPROTECTED = "passed", "failed", "not proved", "unprotected"


@dataclass(frozen=True)
class Outcome:
    """One row of the record."""

    step: str
    rule: str
    result: str
    note: str = ""
    measured: int | None = None
    limit: int | None = None
    unit: str = "ms"
    resolution: int = 100
    """Of a time in ms."""

    @property
    def measured_text(self) -> str:
        """The measured time with its resolution, or the number that was counted."""
        if self.measured is None:
            return "-"
        if self.unit != "ms":
            return f"{self.measured} {self.unit}"
        decimals = 1 if self.resolution < 1000 else 0
        return f"{self.measured / 1000:.{decimals}f} s (to {self.resolution / 1000:g} s)"

    @property
    def limit_text(self) -> str:
        """What it may be."""
        if self.limit is None:
            return "-"
        return f"{self.limit / 1000:.1f} s" if self.unit == "ms" else f"{self.limit} {self.unit}"
