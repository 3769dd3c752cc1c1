"""The plain table of a bench: one row a figure, the goal beside it, met or not."""

from dataclasses import dataclass

from tests.bench.timing import Times

HEADINGS = ("figure", "here", "against", "result", "goal", "")


@dataclass(frozen=True)
class Row:
    """One figure, as words and numbers with units."""

    figure: str
    here: str
    against: str = "-"
    result: str = "-"
    goal: str = "-"
    met: bool | None = None
    """None: nothing is asked of this figure."""

    @property
    def cells(self) -> tuple[str, ...]:
        """Its cells, in the order of the headings."""
        verdict = {None: "", True: "met", False: "NOT MET"}[self.met]
        return (self.figure, self.here, self.against, self.result, self.goal, verdict)


def ratio_row(figure: str, here: str, against: str, ratio: float, most: float) -> Row:
    """A ratio that is to be ``most`` or less."""
    return Row(figure, here, against, f"{ratio:.2f}x", f"at most {most}x", ratio <= most)


def accuracy_row(figure: str, off_percent: float, most_percent: float) -> Row:
    """A deviation that is to be within ``most_percent``."""
    result = f"{off_percent:.4f} %"
    goal = f"within {most_percent:g} %"
    return Row(figure, "-", "-", result, goal, off_percent <= most_percent)


def seconds_text(times: Times) -> str:
    """Median and spread of something that takes long."""
    return f"{times.middle_s:.3f} s (spread {times.spread_percent:.0f} %)"


def each_text(times: Times, count: int) -> str:
    """Median and spread of one of ``count`` equal parts."""
    each_us = times.middle_s / count * 1e6
    return f"{each_us:.2f} us (spread {times.spread_percent:.0f} %)"


def table_lines(rows: list[Row]) -> list[str]:
    """The table, its columns as wide as what stands in them."""
    lines = [HEADINGS] + [row.cells for row in rows]
    widths = [max(len(line[column]) for line in lines) for column in range(len(HEADINGS))]
    ruled = [lines[0], tuple("-" * width for width in widths), *lines[1:]]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in ruled
    ]
