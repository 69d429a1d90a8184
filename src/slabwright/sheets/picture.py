"""A small drawing in page millimetres, written as SVG; line weights 0.5, 0.25 and 0.18 mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from slabwright.sheets.colours import INK, PAPER
from slabwright.sheets.fonts import FAMILY

THICK, MIDDLE, THIN = 0.5, 0.25, 0.18
MM_PER_POINT = 25.4 / 72.0
TEXT = 10.5 * MM_PER_POINT
GREAT = 28.0 * MM_PER_POINT

Points = Iterable[Sequence[float]]


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def path_of(points: Points, close: bool = False) -> str:
    """SVG path data of a chain of points."""
    return "M" + "L".join(f"{_number(p[0])} {_number(p[1])}" for p in points) + ("Z" if close else "")


class Picture:
    """A drawing of a given size; x to the right, y down, in millimetres of the page."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._parts: list[str] = []
        self._clips = 0

    def path(
        self,
        data: str,
        *,
        stroke: str = INK,
        weight: float = MIDDLE,
        fill: str = "none",
        dash: str = "",
        rule: str = "",
    ) -> None:
        """Path data with a line and a filling; a weight of 0 draws no line."""
        line = f' stroke="{stroke}" stroke-width="{weight}" stroke-linejoin="round"' if weight else ""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        ruled = f' fill-rule="{rule}"' if rule else ""
        self._parts.append(f'<path d="{data}" fill="{fill}"{line}{dashed}{ruled}/>')

    def line(
        self, x1: float, y1: float, x2: float, y2: float, *, stroke: str = INK, weight: float = MIDDLE, dash: str = ""
    ) -> None:
        """A straight line."""
        self.path(path_of([(x1, y1), (x2, y2)]), stroke=stroke, weight=weight, dash=dash)

    def polyline(self, points: Points, *, stroke: str = INK, weight: float = MIDDLE, dash: str = "") -> None:
        """A chain of lines."""
        self.path(path_of(points), stroke=stroke, weight=weight, dash=dash)

    def polygon(
        self, points: Points, *, stroke: str = INK, weight: float = MIDDLE, fill: str = "none", dash: str = ""
    ) -> None:
        """A closed shape."""
        self.path(path_of(points, close=True), stroke=stroke, weight=weight, fill=fill, dash=dash)

    def rectangle(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        stroke: str = INK,
        weight: float = MIDDLE,
        fill: str = "none",
        dash: str = "",
    ) -> None:
        """A rectangle by its upper left corner."""
        corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
        self.polygon(corners, stroke=stroke, weight=weight, fill=fill, dash=dash)

    def circle(
        self,
        x: float,
        y: float,
        radius: float,
        *,
        stroke: str = INK,
        weight: float = MIDDLE,
        fill: str = "none",
        dash: str = "",
    ) -> None:
        """A circle."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._parts.append(
            f'<circle cx="{_number(x)}" cy="{_number(y)}" r="{_number(radius)}" fill="{fill}" stroke="{stroke}" '
            f'stroke-width="{weight}"{dashed}/>'
        )

    def hatch(
        self,
        data: str,
        box: tuple[float, float, float, float],
        *,
        step: float = 1.6,
        stroke: str = INK,
        rule: str = "evenodd",
        falling: bool = False,
    ) -> None:
        """Slanting lines inside a path, within a box (x0, y0, x1, y1); rising to the right, or falling."""
        self._clips += 1
        name = f"h{self._clips}"
        x0, y0, x1, y1 = box
        drop, count = y1 - y0, int((x1 - x0 + y1 - y0) / step) + 1
        here, there = (y1, y0) if falling else (y0, y1)
        lines = "".join(path_of([(x0 + k * step, here), (x0 + k * step - drop, there)]) for k in range(count))
        self._parts.append(
            f'<clipPath id="{name}"><path d="{data}" clip-rule="{rule}"/></clipPath>'
            f'<path d="{lines}" clip-path="url(#{name})" fill="none" stroke="{stroke}" stroke-width="{THIN}"/>'
        )

    def clip(self, data: str) -> None:
        """Show what follows only inside a path, until `unclip`."""
        self._clips += 1
        self._parts.append(
            f'<clipPath id="c{self._clips}"><path d="{data}"/></clipPath><g clip-path="url(#c{self._clips})">'
        )

    def unclip(self) -> None:
        """End what `clip` began."""
        self._parts.append("</g>")

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size: float = TEXT,
        anchor: str = "start",
        weight: int = 400,
        fill: str = INK,
        halo: bool = False,
    ) -> None:
        """One line of text; y is its foot. With `halo` it stands on any ground."""
        common = (
            f'x="{_number(x)}" y="{_number(y)}" font-family={quoteattr(FAMILY)} font-size="{size:.4g}" '
            f'font-weight="{weight}" text-anchor="{anchor}"'
        )
        said = escape(text)
        if halo:
            ring = f'stroke="{PAPER}" stroke-width="{_number(size / 4)}" stroke-linejoin="round"'
            self._parts.append(f'<text {common} fill="{PAPER}" {ring}>{said}</text>')
        self._parts.append(f'<text {common} fill="{fill}">{said}</text>')

    def plated(
        self, x: float, y: float, text: str, *, anchor: str = "start", weight: int = 400, fill: str = INK
    ) -> None:
        """A line of text on a plate of paper, so that no line behind it runs through it."""
        wide = text_width(text) + 1.0
        left = x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
        self._parts.append(
            f'<rect x="{_number(left)}" y="{_number(y - TEXT)}" width="{_number(wide)}" height="{_number(1.3 * TEXT)}" '
            f'fill="{PAPER}"/>'
        )
        self.text(x, y, text, anchor=anchor, weight=weight, fill=fill)

    def dimension(self, x1: float, x2: float, y: float, text: str) -> None:
        """A horizontal dimension with slanting ticks, its figure above the line."""
        self.line(x1, y, x2, y, weight=THIN)
        for x in (x1, x2):
            self.line(x - 0.9, y + 0.9, x + 0.9, y - 0.9)
        self.text((x1 + x2) / 2, y - 1.0, text, anchor="middle", halo=True)

    def svg(self) -> str:
        """The drawing as an SVG text."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{_number(self.width)}mm" height="{_number(self.height)}mm" '
            f'viewBox="0 0 {_number(self.width)} {_number(self.height)}">{"".join(self._parts)}</svg>'
        )


def text_width(text: str, size: float = TEXT) -> float:
    """A fair guess of a text's width, for keeping labels apart: half its size for each letter."""
    return 0.5 * size * len(text)
