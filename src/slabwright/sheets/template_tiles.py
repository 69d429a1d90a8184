"""A full-scale drawing over as many pages as it takes: windows that overlap, marks to join them, rulers to check them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

import shapely

from slabwright.findings import SlabwrightError
from slabwright.geometry.arcs import Side
from slabwright.quantities import INCH, Units
from slabwright.sheets.colours import CHOSEN, INK, SOFT
from slabwright.sheets.picture import MIDDLE, TEXT, THIN, Picture, text_width

PaperName = Literal["A4", "A3", "Letter", "roll"]

CUT_PAPERS = {"A4": (297.0, 210.0), "A3": (420.0, 297.0), "Letter": (279.4, 215.9)}
"""Sizes lying on the long side [mm]: ISO 216 for A4 and A3; ANSI/ASME Y14.1 size A (8 1/2 x 11 in) for Letter."""
ROLL_LEAST, ROLL_MOST = 250.0, 1700.0
"""Widths of paper on a roll [mm]."""
PAGE_LONGEST = 5000.0
"""Longest page [mm]: a PDF page is at most 14,400 units of 1/72 in, 5,080 mm, without a unit of its own (ISO 32000-1,
annex C)."""
DRAWING_LARGEST = 20000.0
PAGES_MOST = 150
OVERLAP = 15.0
LEFT, RIGHT, TOP, FOOT = 16.0, 10.0, 10.0, 30.0
"""Round the window: the left holds a ruler, the foot a ruler and the page's name [mm]."""
_ARM = 4.0


@dataclass(frozen=True)
class Chain:
    """A line of the drawing at full scale: a ring of sides, or an open chain of points; y up [mm]."""

    sides: tuple[Side, ...]
    closed: bool
    layer: str
    weight: float = MIDDLE
    dash: str = ""
    stroke: str = INK

    def ends(self) -> Iterator[tuple[Side, tuple[float, float]]]:
        """Each side with where it ends."""
        count = len(self.sides)
        for k, side in enumerate(self.sides):
            if k + 1 < count or self.closed:
                yield side, self.sides[(k + 1) % count].start


@dataclass(frozen=True)
class Label:
    """A line of text at full scale; y up [mm]."""

    x: float
    y: float
    text: str
    size: float = TEXT
    anchor: str = "start"


@dataclass
class FullScale:
    """A drawing at full scale, in millimetres, y up."""

    chains: list[Chain] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    crosses: list[tuple[str, float, float]] = field(default_factory=list)
    """Check marks: name, x, y."""

    def line(self, points: Sequence[tuple[float, float]], layer: str, *, weight: float = THIN, dash: str = "") -> None:
        """A chain of straight lines."""
        self.chains.append(Chain(tuple(Side(point) for point in points), False, layer, weight, dash))

    def bounds(self) -> tuple[float, float, float, float]:
        """Of all lines and marks [mm]."""
        boxes = [line.bounds for chain in self.chains for line in _lines(chain)]
        boxes += [(x - _ARM, y - _ARM, x + _ARM, y + _ARM) for _, x, y in self.crosses]
        return (
            min(b[0] for b in boxes),
            min(b[1] for b in boxes),
            max(b[2] for b in boxes),
            max(b[3] for b in boxes),
        )


@dataclass(frozen=True)
class Tile:
    """One page: its place in the rows and columns, its number if it is printed, and what part of the drawing it shows [mm]."""

    row: int
    column: int
    number: int
    x0: float
    y0: float
    x1: float
    y1: float


@dataclass(frozen=True)
class Joint:
    """A mark that two pages share."""

    name: str
    x: float
    y: float


@dataclass(frozen=True)
class Tiling:
    """All pages of one drawing.

    Attributes:
        page_width: of each page [mm]
        page_height: of each page [mm]
        rows: from the top down
        columns: from the left
        tiles: those that are printed, by row and column
        joints: marks that two printed pages share
    """

    page_width: float
    page_height: float
    rows: int
    columns: int
    tiles: dict[tuple[int, int], Tile]
    joints: tuple[Joint, ...]


def _lines(chain: Chain) -> list[shapely.LineString]:
    """Each side as a line; an arc as chords, within 0.02 mm for a radius of 50 mm."""
    return [shapely.LineString(_points(side, end)) for side, end in chain.ends()]


def _points(side: Side, end: tuple[float, float]) -> list[tuple[float, float]]:
    if not side.sweep:
        return [side.start, end]
    (x0, y0), (x1, y1) = side.start, end
    # The middle lies off the chord's middle, to its left where the arc turns left.
    lever = 0.5 / math.tan(side.sweep / 2.0)
    x, y = (x0 + x1) / 2.0 - lever * (y1 - y0), (y0 + y1) / 2.0 + lever * (x1 - x0)
    radius, first = math.hypot(x0 - x, y0 - y), math.atan2(y0 - y, x0 - x)
    count = max(2, math.ceil(abs(side.sweep) / math.radians(3.0)))
    inner = [first + side.sweep * k / count for k in range(1, count)]
    return [(x0, y0), *((x + radius * math.cos(a), y + radius * math.sin(a)) for a in inner), (x1, y1)]


def chain_points(chain: Chain) -> list[tuple[float, float]]:
    """A chain as points, its arcs as chords [mm]."""
    return [point for side, end in chain.ends() for point in _points(side, end)[:-1]] + [
        chain.sides[0 if chain.closed else -1].start
    ]


def page_size(paper: PaperName, roll_width: float, length: float) -> tuple[float, float]:
    """Size of a page, lying [mm].

    Args:
        paper: a name of `CUT_PAPERS`, or roll
        roll_width: of the paper on the roll [mm]
        length: of the drawing that a page of the roll should hold [mm]

    Raises:
        SlabwrightError: an unknown paper, or a roll that no printer takes
    """
    if paper in CUT_PAPERS:
        return CUT_PAPERS[paper]
    if paper != "roll":
        raise SlabwrightError(f"paper is A4, A3, Letter or roll, not {str(paper)[:40]!r}.")
    if not (math.isfinite(roll_width) and ROLL_LEAST <= roll_width <= ROLL_MOST):
        raise SlabwrightError(
            f"roll_width is {roll_width:g} mm; paper on a roll is {ROLL_LEAST:g} to {ROLL_MOST:g} mm wide."
        )
    wanted = math.ceil((length + LEFT + RIGHT) / 10.0) * 10.0
    return max(min(wanted, PAGE_LONGEST), 297.0), round(roll_width, 2)


def tile(drawing: FullScale, paper: PaperName, roll_width: float = 610.0) -> Tiling:
    """Lay a drawing over pages; pages that would show no line are left out.

    Args:
        drawing: at full scale
        paper: that it is printed on
        roll_width: of the paper on a roll [mm]

    Raises:
        SlabwrightError: a drawing that is none or too large, a paper that is none, or more pages than anyone would tape
    """
    x0, y0, x1, y1 = drawing.bounds()
    wide, high = x1 - x0 + 2.0, y1 - y0 + 2.0
    if not all(math.isfinite(size) and size <= DRAWING_LARGEST for size in (wide, high)):
        raise SlabwrightError(f"A full-scale drawing is at most {DRAWING_LARGEST / 1000:g} m long and wide.")
    page_width, page_height = page_size(paper, roll_width, wide)
    window, tall = page_width - LEFT - RIGHT, page_height - TOP - FOOT
    columns = max(1, math.ceil((wide - OVERLAP) / (window - OVERLAP) - 1e-9))
    rows = max(1, math.ceil((high - OVERLAP) / (tall - OVERLAP) - 1e-9))
    left = (x0 + x1) / 2.0 - (columns * (window - OVERLAP) + OVERLAP) / 2.0
    upper = (y0 + y1) / 2.0 + (rows * (tall - OVERLAP) + OVERLAP) / 2.0
    if rows * columns > 100 * PAGES_MOST:
        raise SlabwrightError(
            f"On {paper} this drawing takes {rows * columns} pages; print it on larger paper or a roll."
        )
    pieces = shapely.STRtree([line for chain in drawing.chains for line in _lines(chain)])
    tiles: dict[tuple[int, int], Tile] = {}
    for row in range(rows):
        for column in range(columns):
            west, north = left + column * (window - OVERLAP), upper - row * (tall - OVERLAP)
            shown = shapely.box(west, north - tall, west + window, north)
            if len(pieces.query(shown, predicate="intersects")):
                tiles[row, column] = Tile(row, column, len(tiles) + 1, west, north - tall, west + window, north)
    if len(tiles) > PAGES_MOST:
        raise SlabwrightError(
            f"On {paper} this drawing takes {len(tiles)} pages, more than {PAGES_MOST}; print it on larger paper or a roll."
        )
    return Tiling(
        page_width,
        page_height,
        rows,
        columns,
        tiles,
        tuple(_joints(tiles)),
    )


def _letters(index: int) -> str:
    """A to Z without I and O, then AA, AB, ..."""
    alphabet = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    head, last = divmod(index, len(alphabet))
    return (_letters(head - 1) if head else "") + alphabet[last]


def _joints(tiles: dict[tuple[int, int], Tile]) -> Iterator[Joint]:
    """Two marks on each joint of two printed pages, on the middle of what both show."""
    count = 0
    for (row, column), here in tiles.items():
        beside, below = tiles.get((row, column + 1)), tiles.get((row + 1, column))
        if beside is not None:
            for mark, share in (("1", 0.8), ("2", 0.2)):
                yield Joint(_letters(count) + mark, (beside.x0 + here.x1) / 2.0, here.y0 + share * (here.y1 - here.y0))
            count += 1
        if below is not None:
            for mark, share in (("1", 0.2), ("2", 0.8)):
                yield Joint(_letters(count) + mark, here.x0 + share * (here.x1 - here.x0), (here.y0 + below.y1) / 2.0)
            count += 1


def page(drawing: FullScale, tiling: Tiling, shown: Tile, title: str, units: Units) -> Picture:
    """One page of a drawing, full scale: its part of the drawing, marks to join, two rulers, its name.

    Args:
        drawing: at full scale
        tiling: all pages
        shown: this one
        title: of the drawing
        units: of the rulers
    """
    picture = Picture(tiling.page_width, tiling.page_height)

    def place(x: float, y: float) -> tuple[float, float]:
        return LEFT + x - shown.x0, TOP + shown.y1 - y

    window = f"M{LEFT} {TOP}H{tiling.page_width - RIGHT:.2f}V{tiling.page_height - FOOT:.2f}H{LEFT}Z"
    picture.clip(window)
    box = shapely.box(shown.x0, shown.y0, shown.x1, shown.y1)
    for line in _cuts(tiling, shown):
        ends = [place(x, y) for x, y in line]
        picture.line(*ends[0], *ends[1], weight=THIN, dash="4 2", stroke=SOFT)
    for chain in drawing.chains:
        data = _path(chain, box, shown)
        if data:
            picture.path(data, weight=chain.weight, dash=chain.dash, stroke=chain.stroke)
    for label in drawing.labels:
        x, y = place(label.x, label.y)
        picture.text(x, y, label.text, size=label.size, anchor=label.anchor, halo=True)
    for name, x, y in drawing.crosses:
        _cross(picture, *place(x, y), name, check=True)
    for joint in tiling.joints:
        if shown.x0 <= joint.x <= shown.x1 and shown.y0 <= joint.y <= shown.y1:
            _cross(picture, *place(joint.x, joint.y), joint.name)
    picture.unclip()
    picture.path(window, weight=THIN, stroke=SOFT)
    _rulers(picture, units)
    _name(picture, tiling, shown, title, units)
    return picture


def _cuts(tiling: Tiling, shown: Tile) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """The lines, on the middle of what two pages show, along which one is cut and laid on the other."""
    half = OVERLAP / 2.0
    for step, x in ((-1, shown.x0 + half), (1, shown.x1 - half)):
        if (shown.row, shown.column + step) in tiling.tiles:
            yield (x, shown.y0), (x, shown.y1)
    for step, y in ((-1, shown.y1 - half), (1, shown.y0 + half)):
        if (shown.row + step, shown.column) in tiling.tiles:
            yield (shown.x0, y), (shown.x1, y)


def _path(chain: Chain, box: shapely.Polygon, shown: Tile) -> str:
    """Path data of the sides that a page shows, to a ten-thousandth of a millimetre."""
    parts: list[str] = []
    last: tuple[float, float] | None = None
    for side, end in chain.ends():
        points = _points(side, end)
        if not shapely.intersects(shapely.LineString(points), box):
            last = None
            continue
        ends = [(LEFT + x - shown.x0, TOP + shown.y1 - y) for x, y in (side.start, end)]
        if last != side.start:
            parts.append(f"M{ends[0][0]:.4f} {ends[0][1]:.4f}")
        if side.sweep:
            # y is turned round on the page, and so is the way of an arc.
            turn = f"A{side.radius:.4f} {side.radius:.4f} 0 0 {0 if side.sweep > 0 else 1}"
            parts.append(f"{turn} {ends[1][0]:.4f} {ends[1][1]:.4f}")
        else:
            parts.append(f"L{ends[1][0]:.4f} {ends[1][1]:.4f}")
        last = end
    return "".join(parts)


def _cross(picture: Picture, x: float, y: float, name: str, check: bool = False) -> None:
    ink = CHOSEN if check else INK
    for dx, dy in ((_ARM, 0.0), (0.0, _ARM)):
        data = f"M{x - dx:.4f} {y - dy:.4f}L{x + dx:.4f} {y + dy:.4f}"
        picture.path(data, weight=MIDDLE, stroke=ink)
    if not check:
        picture.circle(x, y, _ARM / 2.0, weight=THIN)
    picture.text(x + 1.2, y - 1.2, name, size=TEXT, weight=700, fill=ink, halo=True)


def _rulers(picture: Picture, units: Units) -> None:
    """200 mm or 8 in along the foot, 100 mm or 4 in up the left side."""
    step, count, unit = (10.0, 20, "mm") if units == "metric" else (INCH, 8, "in")
    y = picture.height - FOOT + 11.0
    picture.path(f"M{LEFT:.4f} {y:.4f}H{LEFT + step * count:.4f}", weight=MIDDLE)
    for k in range(count + 1):
        tall = 3.5 if k % 5 == 0 or units == "inch" else 2.0
        picture.path(f"M{LEFT + k * step:.4f} {y:.4f}V{y - tall:.4f}", weight=THIN)
        if (k % 5 == 0 and k) or (units == "inch" and k):
            said = f"{k * step:.0f}" if units == "metric" else f"{k}"
            picture.text(LEFT + k * step, y - 4.2, f"{said} {unit}" if k == count else said, anchor="middle")
    x, foot = LEFT - 3.0, picture.height - FOOT
    picture.path(f"M{x:.4f} {foot:.4f}V{foot - step * count / 2:.4f}", weight=MIDDLE)
    for k in range(count // 2 + 1):
        picture.path(f"M{x:.4f} {foot - k * step:.4f}H{x - (3.0 if k in (0, count // 2) else 1.6):.4f}", weight=THIN)


def _name(picture: Picture, tiling: Tiling, shown: Tile, title: str, units: Units) -> None:
    both = "200 mm and 100 mm" if units == "metric" else "8 in and 4 in"
    first = f"{title}. Page {shown.number} of {len(tiling.tiles)}, row {shown.row + 1}, column {shown.column + 1}."
    second = f"Print at 100 %, no fitting. The rulers must measure {both} (foot, left side)."
    y = picture.height - FOOT + 17.0
    size = min(TEXT, TEXT * (picture.width - LEFT - RIGHT) / max(text_width(first), text_width(second)))
    picture.text(LEFT, y, first, size=size, weight=600)
    picture.text(LEFT, y + 4.4, second, size=size)
