"""Charts: the steps from the readings to the promise, and thickness against fill."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, path_of
from slabwright.sheets.plan_view import nice_step
from slabwright.sheets.words import Words
from slabwright.slab.patch import FrontPoint
from slabwright.slab.seat import Seat

STEP_NAMES = {
    "between readings": "Wood lower between readings",
    "marks and sanding": "Milling marks and sanding",
    "tie": "Tie of the two set-ups",
    "shims": "Shims come in steps",
    "z zero": "Setting z zero",
}


def falling_bars(seat: Seat, words: Words, width: float, height: float) -> Picture:
    """The steps from the thickness of the readings down to the promised one, each a bar that hangs where the last ended."""
    picture = Picture(width, height)
    steps = [term for term in seat.terms if abs(term.loss) >= 0.005]
    rows = len(steps) + 2
    row = min(height / (rows + 0.6), 13.0)
    first, last = 64.0, width - 24.0
    reached = seat.thickness - np.cumsum([term.loss for term in seat.terms])
    low = min(seat.thickness_low, float(reached.min(initial=seat.thickness)))
    span = max(seat.thickness - low, 0.5)
    floor = max(low - 0.35 * span, 0.0)

    def at(thickness: float) -> float:
        return first + (last - first) * (thickness - floor) / (seat.thickness - floor)

    def bar(k: int, start: float, end: float, name: str, figure: str, solid: bool) -> None:
        y = 2.0 + k * row
        thick = 0.62 * row
        a, b = sorted((at(start), at(end)))
        picture.text(first - 3.0, y + thick / 2 + 0.35 * TEXT, name, anchor="end", weight=600 if solid else 400)
        if solid:
            picture.rectangle(first, y, b - first, thick, fill=CHOSEN if k else WOOD, weight=THICK)
            tear = first + 5.0
            picture.path(path_of([(tear, y - 1), (tear + 1.5, y + thick / 3), (tear - 0.5, y + 2 * thick / 3), (tear + 1, y + thick + 1)]),
                         stroke=PAPER, weight=1.4)  # fmt: skip
        else:
            box = [(a, y), (b, y), (b, y + thick), (a, y + thick)]
            picture.polygon(box, weight=MIDDLE, fill=PAPER)
            picture.hatch(path_of(box, close=True), (a, y, b, y + thick))
        picture.text(max(b, first) + 1.8, y + thick / 2 + 0.35 * TEXT, figure, weight=600 if solid else 400)

    bar(0, floor, seat.thickness, "Readings as measured", words.fine(seat.thickness), True)
    here = seat.thickness
    for k, term in enumerate(steps, start=1):
        bar(k, here, here - term.loss, STEP_NAMES.get(term.name, term.name), f"−{words.finer(term.loss)}", False)
        picture.line(at(here), 2.0 + (k - 1) * row + 0.62 * row, at(here), 2.0 + k * row, weight=THIN, dash="0.8 0.8")
        here -= term.loss
    picture.line(
        at(here), 2.0 + (rows - 2) * row + 0.62 * row, at(here), 2.0 + (rows - 1) * row, weight=THIN, dash="0.8 0.8"
    )
    bar(rows - 1, floor, here, "Promised", words.fine(seat.thickness_low), True)
    picture.height = min(height, rows * row + 3.0)
    return picture


def _axis(low: float, high: float, pieces: int) -> tuple[list[float], int]:
    step = nice_step(max(high - low, 1e-6), pieces)
    start, stop = np.floor(low / step + 1e-9), np.ceil(high / step - 1e-9)
    decimals = max(0, -int(np.floor(np.log10(step) + 1e-9)))
    return [float(step * k) for k in np.arange(start, max(stop, start + 1) + 0.5)], decimals


def thickness_against_fill(
    front: Sequence[FrontPoint], chosen: int, words: Words, width: float, height: float
) -> Picture:
    """The board's thickness for each amount of fill, with the point that the sheets follow."""
    picture = Picture(width, height)
    left, right, top, foot = 19.0, width - 6.0, 9.0, height - 14.0
    unit = 1.0 if words.metric else 25.4
    volumes = [words.volume_number(point.fill_volume) for point in front]
    boards = [point.thickness / unit for point in front]
    across, across_decimals = _axis(0.0, max(volumes), 6)
    up, up_decimals = _axis(min(boards), max(*boards, min(boards) + 0.1 / unit), 6)

    def place(volume: float, board: float) -> tuple[float, float]:
        return (
            left + (right - left) * (volume - across[0]) / (across[-1] - across[0]),
            foot - (foot - top) * (board - up[0]) / (up[-1] - up[0]),
        )

    for value in up:
        x, y = place(across[0], value)
        picture.line(x, y, right, y, weight=THIN, stroke=SOFT, dash="0.6 1.2")
        picture.text(x - 1.5, y + 0.35 * TEXT, f"{value:.{up_decimals}f}", anchor="end")
    for value in across:
        x, y = place(value, up[0])
        picture.line(x, y, x, y + 1.5, weight=MIDDLE)
        picture.text(x, y + 1.5 + TEXT, f"{value:.{across_decimals}f}", anchor="middle")
    picture.line(left, top, left, foot, weight=MIDDLE)
    picture.line(left, foot, right, foot, weight=MIDDLE)
    picture.text(0.0, 3.6, f"Board of the readings, {words.unit}", weight=600)
    picture.text(right, height - 1.2, f"Fill, {words.volume_unit}", anchor="end", weight=600)
    points = [place(v, b) for v, b in zip(volumes, boards, strict=True)]
    picture.polyline(points, weight=THICK)
    for k, (x, y) in enumerate(points):
        if k != chosen:
            picture.circle(x, y, 1.1, fill=PAPER, stroke=INK)
    x, y = points[chosen]
    picture.line(x, y, x, foot, stroke=CHOSEN, weight=THICK)
    picture.circle(x, y, 2.2, fill=CHOSEN, stroke=INK)
    word = "Chosen: no fill" if chosen == 0 else f"Chosen: {words.fill(front[chosen].fill_volume)}"
    rightwards = x < (left + right) / 2
    anchor, shift = ("start", 3.5) if rightwards else ("end", -3.5)
    picture.text(x + shift, min(y + 9.0, foot - 6.0), word, anchor=anchor, weight=600, fill=CHOSEN, halo=True)
    picture.text(
        x + shift,
        min(y + 13.8, foot - 1.2),
        words.fine(front[chosen].thickness),
        anchor=anchor,
        weight=600,
        fill=CHOSEN,
        halo=True,
    )
    return picture
