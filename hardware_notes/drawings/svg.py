"""A sheet of lines, boxes and words, as the bytes of an SVG file; units are pixels."""

from xml.sax.saxutils import escape

Point = tuple[float, float]


class Sheet:
    """What is drawn lies over what was drawn before."""

    def __init__(self, width: float, title: str) -> None:
        """``title`` is what the picture says to someone who cannot see it."""
        self.width = width
        self.title = title
        self.bottom = 0.0
        """The lowest point that was drawn."""
        self._parts: list[str] = []

    def line(
        self, start: Point, end: Point, ink: str = "#000", thick: float = 1.5, dashed: bool = False
    ) -> None:
        """A straight line."""
        self._reach(start, end)
        dash = ' stroke-dasharray="5 4"' if dashed else ""
        self._parts.append(
            f'<line x1="{start[0]:g}" y1="{start[1]:g}" x2="{end[0]:g}" y2="{end[1]:g}" '
            f'stroke="{ink}" stroke-width="{thick:g}" stroke-linecap="round"{dash}/>'
        )

    def box(
        self,
        low: Point,
        high: Point,
        fill: str = "none",
        ink: str = "#000",
        dashed: bool = False,
        round_px: float = 3,
    ) -> None:
        """A rectangle between its upper left and its lower right corner."""
        self._reach(low, high)
        dash = ' stroke-dasharray="5 4"' if dashed else ""
        self._parts.append(
            f'<rect x="{low[0]:g}" y="{low[1]:g}" width="{high[0] - low[0]:g}" '
            f'height="{high[1] - low[1]:g}" rx="{round_px:g}" fill="{fill}" stroke="{ink}"{dash}/>'
        )

    def disc(self, at: Point, radius: float, fill: str = "none", ink: str = "#000") -> None:
        """A circle."""
        self._reach((at[0], at[1] + radius))
        self._parts.append(
            f'<circle cx="{at[0]:g}" cy="{at[1]:g}" r="{radius:g}" fill="{fill}" stroke="{ink}"/>'
        )

    def curve(self, *points: Point, ink: str = "#000", thick: float = 1.5) -> None:
        """A cubic curve through start, two handles and end."""
        self._reach(*points)
        start, first, second, end = (f"{x:g},{y:g}" for x, y in points)
        self._parts.append(
            f'<path d="M{start} C{first} {second} {end}" fill="none" stroke="{ink}" '
            f'stroke-width="{thick:g}"/>'
        )

    def say(
        self,
        at: Point,
        text: str,
        align: str = "start",
        size: float = 13,
        ink: str = "#000",
        bold: bool = False,
    ) -> None:
        """Words, a line feed for each line; ``at`` is on the first line's foot."""
        weight = ' font-weight="bold"' if bold else ""
        for number, one in enumerate(text.split("\n")):
            y = at[1] + number * size * 1.25
            self._reach((at[0], y + 3))
            self._parts.append(
                f'<text x="{at[0]:g}" y="{y:g}" font-size="{size:g}" text-anchor="{align}" '
                f'fill="{ink}"{weight}>{escape(one)}</text>'
            )

    def bytes(self) -> bytes:
        """The whole file."""
        height = self.bottom + 16
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width:g} {height:g}" '
            f'width="{self.width:g}" height="{height:g}" font-family="sans-serif" role="img" '
            f'aria-label="{escape(self.title)}">'
        )
        paper = f'<rect width="{self.width:g}" height="{height:g}" fill="white"/>'
        return "\n".join([head, paper, *self._parts, "</svg>"]).encode() + b"\n"

    def _reach(self, *points: Point) -> None:
        self.bottom = max(self.bottom, *(y for _, y in points))
