"""Height maps of a face: bands between contour lines, low spots hatched, a scale bar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np
from numpy.typing import NDArray
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.faces import Floats
from slabwright.sheets.colours import INK, PAPER, SOFT, ramp
from slabwright.sheets.picture import MIDDLE, TEXT, THIN, Picture, path_of, text_width
from slabwright.sheets.plan_view import View, nice_step
from slabwright.sheets.words import Words
from slabwright.slab.stock import StockMap

if TYPE_CHECKING:
    from contourpy import ContourGenerator

_HAIR = 0.05
"""Lines between bands that have their band's colour keep a printer from showing a white seam."""


UNREAD = "#ECECEA"
"""Ground of what was not read: no colour of the ramp, and lighter than its darker half."""
_LEAST_LOOP = 1.5
"""Smaller loops of a contour [mm of the page] are specks of one reading; their bands stay, their lines would hide them."""


@dataclass(frozen=True)
class Bands:
    """The heights at which a map changes colour, from 0 upwards, and the colours between them.

    Attributes:
        levels: rising, the first 0 [mm]
        colours: one fewer
        decimals: of the job's unit, for labels
    """

    levels: tuple[float, ...]
    colours: tuple[str, ...]
    decimals: int


def bands_for(most: float, words: Words, pieces: int = 14) -> Bands:
    """Round bands from 0 to beyond `most`."""
    unit = 1.0 if words.metric else 25.4
    step = nice_step(max(most, 0.1) / unit, pieces)
    count = max(int(np.ceil(max(most, 0.1) / unit / step - 1e-9)), 1)
    decimals = max(0, -int(np.floor(np.log10(step) + 1e-9)))
    return Bands(tuple(step * unit * k for k in range(count + 1)), tuple(ramp(count)), decimals)


def _label(level: float, bands: Bands, words: Words) -> str:
    return f"{level / (1.0 if words.metric else 25.4):.{bands.decimals}f}"


def _thinned(stock: StockMap, view: View, cell: float) -> tuple[Floats, Floats, Floats]:
    """The grid with no more than one point for each `cell` mm of the page."""

    def stride(axis: Floats) -> int:
        return max(1, int(cell / max(view.scale * float(np.median(np.diff(axis))), 1e-9))) if axis.size > 2 else 1

    i, j = stride(stock.x), stride(stock.y)
    return stock.x[::i], stock.y[::j], stock.depth[::i, ::j]


def _to_the_border(x: Floats, y: Floats, depth: Floats) -> tuple[Floats, Floats, Floats]:
    """The grid with a cell more on each side, and each empty cell as its nearest neighbour; the outline clips what is beyond."""
    from scipy.ndimage import distance_transform_edt

    def longer(axis: Floats) -> Floats:
        return np.concatenate([[2 * axis[0] - axis[1]], axis, [2 * axis[-1] - axis[-2]]])

    wide = np.pad(depth, 1, constant_values=np.nan)
    nearest = distance_transform_edt(np.isnan(wide), return_distances=False, return_indices=True)
    return longer(x), longer(y), wide[tuple(nearest)]


def wood_left(depth: Floats, level: float) -> Floats:
    """What stands above the finished plane once the cutter has been over all of it at `level`; low spots stay below 0."""
    return np.minimum(depth, level)


def draw_height_map(
    picture: Picture,
    view: View,
    stock: StockMap,
    bands: Bands,
    words: Words,
    *,
    outline: Polygon,
    level: float | None = None,
    labelled: bool = True,
    cell: float = 1.2,
    read: BaseGeometry | None = None,
    clear_of: Sequence[tuple[float, float]] = (),
) -> None:
    """Draw a map of the wood above a finished plane.

    Args:
        picture: where to
        view: how
        stock: what
        bands: heights and colours
        words: how contour labels are written
        outline: of the face, in the map's frame
        level: after a pass at this height; None: before cutting
        labelled: whether contours carry their height
        cell: page mm between the grid's points that are used
        read: where the map rests on readings, in the map's frame; what lies outside is shown as not read. None: all of it
        clear_of: page places that labels keep away from
    """
    from contourpy import contour_generator

    x, y, depth = _thinned(stock, view, cell)
    if min(depth.shape) < 2 or np.isnan(depth).all():
        return
    x, y, depth = _to_the_border(x, y, depth)
    before = depth
    if level is not None:
        depth = wood_left(depth, level)
    page_x, page_y = view.to_page(x, y)
    uncut = contour_generator(page_x, page_y, before.T, name="serial", fill_type="OuterOffset")
    maps = contour_generator(page_x, page_y, depth.T, name="serial", fill_type="OuterOffset")
    least, most = float(np.nanmin(depth)), float(np.nanmax(depth))

    known = outline if read is None else outline.intersection(read)
    unread = known.area < outline.area * (1.0 - 1e-6)
    if unread:
        draw_unread(picture, view.data(outline), view.page_box(outline))
    if known.is_empty:
        return
    picture.clip(view.data(known))
    box = (float(page_x.min()), float(page_y.min()), float(page_x.max()), float(page_y.max()))
    for low, high, colour in zip(bands.levels[:-1], bands.levels[1:], bands.colours, strict=True):
        # A height that lies just on a contour belongs to the band below it, as the contours are traced.
        if high < least or low >= max(most, _HAIR):
            continue
        from_ = least - 1.0 if low == 0.0 else low
        data = _filled(maps, from_, max(high, most + 1.0) if high == bands.levels[-1] else high)
        if data:
            picture.path(data, weight=_HAIR, stroke=colour, fill=colour, rule="evenodd")
    longest: list[tuple[Floats, float]] = []
    if least < 0.0 and (data := _filled(uncut, least - 1.0, 0.0)):
        picture.path(data, weight=0, fill=PAPER, rule="evenodd")
        picture.hatch(data, box)
    for contour in bands.levels:
        lines = _chains(uncut, contour) if contour == 0.0 else _chains(maps, contour) if least < contour < most else []
        for line in lines:
            picture.polyline(line, weight=MIDDLE if contour == 0.0 else THIN)
        if labelled and lines:
            longest.append((max(lines, key=len), contour))
    picture.unclip()
    if unread:
        picture.path(view.data(known), weight=THIN, stroke=SOFT)
    placed = list(clear_of)
    inner = view.drawn(known).buffer(-2.5)
    for line, contour in longest:
        _label_contour(picture, line, _label(contour, bands, words), placed, inner)


def _filled(maps: ContourGenerator, low: float, high: float) -> str:
    """Path data of what lies between two heights."""
    outers, offsets = cast("tuple[list[Floats], list[NDArray[np.uint32]]]", maps.filled(low, high))
    return "".join(
        path_of(points[a:b], close=True)
        for points, starts in zip(outers, offsets, strict=True)
        for a, b in zip(starts[:-1].tolist(), starts[1:].tolist(), strict=True)
    )


def _chains(maps: ContourGenerator, height: float) -> list[Floats]:
    """Contour lines of one height, without specks."""
    chains = cast("list[Floats]", maps.lines(height))
    return [line for line in chains if float(np.ptp(line, axis=0).max()) > _LEAST_LOOP]


def draw_unread(picture: Picture, data: str, box: tuple[float, float, float, float]) -> None:
    """Ground and sparse lines of what was not read."""
    picture.path(data, weight=0, fill=UNREAD, rule="evenodd")
    picture.hatch(data, box, step=2.6, stroke=SOFT, falling=True)


def _label_contour(
    picture: Picture, line: Floats, text: str, placed: list[tuple[float, float]], inner: BaseGeometry
) -> None:
    """Write a contour's height on its longest line, clear of labels that are there already and of the border."""
    if len(line) < 12:
        return
    for share in (0.5, 0.3, 0.7, 0.4, 0.6, 0.15, 0.85, 0.22, 0.78):
        x, y = (float(v) for v in line[int(share * (len(line) - 1))])
        if inner.contains(Point(x, y)) and all(abs(x - px) > 9.0 or abs(y - py) > 5.0 for px, py in placed):
            placed.append((x, y))
            picture.text(x, y + 0.35 * TEXT, text, anchor="middle", halo=True)
            return


def draw_scale_bar(
    picture: Picture, bands: Bands, words: Words, x: float, y: float, width: float, *, low: bool, unread: bool
) -> None:
    """The bands side by side with the heights between them, and what the two hatchings mean."""
    count, bar = len(bands.colours), min(width, 160.0)
    end = x + bar
    for shown, word in ((low, "low spot"), (unread, "not read")):
        if shown:
            data, box = path_of([(x, y), (x + 9, y), (x + 9, y + 4), (x, y + 4)], close=True), (x, y, x + 9, y + 4)
            picture.hatch(data, box) if word == "low spot" else draw_unread(picture, data, box)
            picture.rectangle(x, y, 9.0, 4.0, weight=THIN)
            picture.text(x, y + 4.0 + 1.1 * TEXT, word)
            x += 20.0
    unit = f" {words.unit}"
    widest = max(text_width(_label(level, bands, words)) for level in bands.levels)
    x += widest / 2
    bar = end - x - text_width(unit) - widest / 2
    each = bar / count
    for k, colour in enumerate(bands.colours):
        picture.rectangle(x + k * each, y, each, 4.0, weight=THIN, fill=colour)
    skip = max(1, int(np.ceil((widest + 2.5) / each)))
    for k, level in enumerate(bands.levels):
        if k % skip == 0:
            px = x + k * each
            picture.line(px, y, px, y + 5.0, weight=THIN, stroke=INK)
            picture.text(px, y + 4.0 + 1.1 * TEXT, _label(level, bands, words), anchor="middle")
            if k + skip > count:
                picture.text(px + widest / 2 + 1.2, y + 4.0 + 1.1 * TEXT, unit)
