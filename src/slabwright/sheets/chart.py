"""Charts: the steps from the readings to the promise, and thickness against fill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, path_of
from slabwright.sheets.plan_view import nice_step
from slabwright.sheets.words import Words
from slabwright.slab.patch import FrontPoint
from slabwright.slab.seat import Seat

PLANNED_APART = 0.05
"""From so much on, what is planned for is told apart from what is promised [mm]."""

_SMALLEST = 0.005
"""Steps that are less are not drawn [mm]."""

STEP_NAMES = {
    "between readings": "Wood lower between readings",
    "marks and sanding": "Milling marks and sanding",
    "tie": "Tie of the two set-ups",
    "shims": "Shims and their gaps",
    "z zero": "Setting z zero",
}


@dataclass(frozen=True)
class _Bar:
    """One row: from where to where, its name, its figure, and how it is filled."""

    start: float
    end: float
    name: str
    figure: str
    look: Literal["whole", "step", "chosen"]


def _bars(seat: Seat, chosen_fill: int, words: Words) -> list[_Bar]:
    """From the readings down by each step to the promise, then by fill, or by what was asked for, to what is planned."""
    rows = [_Bar(0.0, seat.thickness, "Readings as measured", words.fine(seat.thickness), "whole")]
    here = seat.thickness
    for term in seat.terms:
        if abs(term.loss) >= _SMALLEST:
            rows.append(
                _Bar(here, here - term.loss, STEP_NAMES.get(term.name, term.name), _signed(-term.loss, words), "step")
            )
            here -= term.loss
    sure = seat.thickness_low
    gain = seat.thickness_low_filled - sure if chosen_fill else 0.0
    spare = sure + gain - seat.target
    if abs(gain) < _SMALLEST and abs(spare) < PLANNED_APART:
        return [*rows, _Bar(0.0, sure, "Promised, planned for", words.fine(sure), "chosen")]
    rows.append(_Bar(0.0, sure, "Promised", words.fine(sure), "whole"))
    if abs(gain) >= _SMALLEST:
        rows.append(_Bar(sure, sure + gain, f"Choice {chosen_fill} of fill gives back", _signed(gain, words), "step"))
    if abs(spare) >= _SMALLEST:
        reason = "More than asked for" if spare > 0 else "Less than asked for"
        rows.append(_Bar(sure + gain, seat.target, reason, _signed(-spare, words), "step"))
    return [*rows, _Bar(0.0, seat.target, "Planned for", words.fine(seat.target), "chosen")]


def _signed(change: float, words: Words) -> str:
    return f"{'+' if change > 0 else '−'}{words.finer(abs(change))}"


def falling_bars(seat: Seat, chosen_fill: int, words: Words, width: float, height: float) -> Picture:
    """The steps from the readings to the promise and to what is planned, each a bar that hangs where the last ended.

    Args:
        seat: the steps
        chosen_fill: the point of thickness against fill that is followed; 0: no fill
        words: how figures are written
        width: of the picture [mm]
        height: at most [mm]
    """
    picture = Picture(width, height)
    bars = _bars(seat, chosen_fill, words)
    row = min(height / len(bars), 12.5)
    thick = 0.64 * row
    first, last = 62.0, width - 24.0
    ends = [end for bar in bars for end in ((bar.end,) if bar.look != "step" else (bar.start, bar.end))]
    floor = min(ends) - 0.35 * max(max(ends) - min(ends), 0.5)

    def at(thickness: float) -> float:
        return first + (last - first) * (thickness - floor) / (max(ends) - floor)

    for k, bar in enumerate(bars):
        y = 1.0 + k * row
        step = bar.look == "step"
        left, right = (
            (min(at(bar.start), at(bar.end)), max(at(bar.start), at(bar.end))) if step else (first, at(bar.end))
        )
        box = [(left, y), (right, y), (right, y + thick), (left, y + thick)]
        if step:
            picture.polygon(box, weight=MIDDLE, fill=PAPER)
            picture.hatch(path_of(box, close=True), (left, y, right, y + thick))
        else:
            picture.polygon(box, weight=THICK, fill=CHOSEN if bar.look == "chosen" else WOOD)
            tear = first + 5.0
            zigzag = [
                (tear, y - 1),
                (tear + 1.5, y + thick / 3),
                (tear - 0.5, y + 2 * thick / 3),
                (tear + 1, y + thick + 1),
            ]
            picture.polyline(zigzag, stroke=PAPER, weight=1.4)
        foot = y + thick / 2 + 0.35 * TEXT
        weight = 400 if step else 600
        picture.text(first - 3.0, foot, bar.name, anchor="end", weight=weight)
        picture.text(right + 1.8, foot, bar.figure, weight=weight)
        if k + 1 < len(bars):
            picture.line(at(bar.end), y + thick, at(bar.end), y + row, weight=THIN, dash="0.8 0.8")
    picture.height = 1.0 + len(bars) * row
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
    rise = max(max(boards) - min(boards), 0.1 / unit)
    up, up_decimals = _axis(min(boards) - 0.2 * rise, min(boards) + rise, 7)

    def place(volume: float, board: float) -> tuple[float, float]:
        return (
            left + (right - left) * (volume - across[0]) / (across[-1] - across[0]),
            foot - (foot - top) * (board - up[0]) / (up[-1] - up[0]),
        )

    for value in up:
        x, y = place(across[0], value)
        picture.line(x, y, right, y, weight=THIN, stroke=SOFT, dash="0.6 1.2")
        picture.text(x - 3.0, y + 0.35 * TEXT, f"{value:.{up_decimals}f}", anchor="end")
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
    board = words.fine(front[chosen].thickness)
    picture.plated(x + shift, min(y + 9.0, foot - 6.0), word, anchor=anchor, weight=600, fill=CHOSEN)
    picture.plated(x + shift, min(y + 13.8, foot - 1.2), board, anchor=anchor, weight=600, fill=CHOSEN)
    return picture
