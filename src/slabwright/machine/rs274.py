"""Program text: a tool path written down in plain RS-274.

Straight moves only, absolute, one file for one depth; z is counted from the top of the fixed block on the bed.

References:
    .. [1] NISTIR 6556 (2000), The NIST RS274NGC Interpreter, Version 3.
"""

from __future__ import annotations

import math
import re
import textwrap
import unicodedata
from collections.abc import Iterator, Sequence
from typing import Literal

import numpy as np

from slabwright.findings import SlabwrightError
from slabwright.machine.frame import Setting
from slabwright.machine.toolpath import Toolpath
from slabwright.quantities import INCH

ProgramUnits = Literal["mm", "in"]

_UNITS_WORD = {"mm": "G21", "in": "G20"}
_SIZE = {"mm": 1.0, "in": INCH}
_DECIMALS = {"mm": 3, "in": 4}
_WIDEST_COMMENT = 100
# Some controls act on these characters even within a comment, or on a comment that begins with such a word.
_NOT_PLAIN = re.compile(r"[^A-Za-z0-9 .,:+\-/=\"'_]")
_ACTS = re.compile(r"\s*(msg|debug|print|log\w*|probe\w*)\s*,", re.IGNORECASE)


def program_text(
    path: Toolpath,
    setting: Setting,
    *,
    name: str,
    units: ProgramUnits,
    cutter_diameter: float,
    spindle_speed: float,
    comments: Sequence[str],
) -> str:
    """Write a tool path as a program.

    The cutter is first lifted to the height of the path's first row, wherever it stands; then the spindle starts, and only
    then does it travel to that row. After the last row it is lifted to that height again if it is below.

    Args:
        path: straight moves in the machine's frame; its first row clear of all wood and clamps
        setting: gives the face, the block and the plane
        name: of the file
        units: that the program is written in: to 0.001 mm or 0.0001 in
        cutter_diameter: told in the heading [mm]
        spindle_speed: turns per minute
        comments: lines for the heading, such as the job's title

    Returns:
        The text: `%`, heading, G17 G40 G49 G54 G90 G94 and the units word, M3, G0 and G1 moves, M5, M2, `%`.

    Raises:
        SlabwrightError: a place or a feed of the path is no number, a feed too small to write, or the speed is nothing.
    """
    points, feed = _checked(path, units, spindle_speed)
    size, decimals = _SIZE[units], _DECIMALS[units]
    places = (points - (0.0, 0.0, setting.block)) / size
    written = [tuple(_number(value, decimals) for value in row) for row in places.tolist()]
    start_x, start_y, start_z = written[0]
    lines = ["%"]
    lines += [f"({line})" for line in _heading(path, setting, name, units, cutter_diameter, spindle_speed, comments)]
    lines += [_UNITS_WORD[units], "G17 G40 G49 G54 G90 G94"]
    lines += [f"G0 Z{start_z}", f"M3 S{_number(spindle_speed, 1)}", f"X{start_x} Y{start_y}"]
    lines += _moves(written, feed)
    if places[-1, 2] < places[0, 2] and written[-1][2] != start_z:
        lines.append(f"{'' if feed.size and feed[-1] == 0 else 'G0 '}Z{start_z}")
    lines += ["M5", "M2", "%"]
    return "\n".join(lines) + "\n"


def _checked(path: Toolpath, units: ProgramUnits, spindle_speed: float) -> tuple[np.ndarray, np.ndarray]:
    points, feed = np.asarray(path.points, float), np.asarray(path.feed, float)
    if points.ndim != 2 or points.shape[1] != 3 or len(points) != len(feed) + 1:
        raise SlabwrightError(f"a tool path has one place more than it has feeds; got {points.shape} and {feed.shape}")
    if not feed.size:
        raise SlabwrightError("a tool path without a move needs no program")
    if not (np.isfinite(points).all() and np.isfinite(feed).all()):
        raise SlabwrightError("a tool path holds a place or a feed that is no number; no program can be written")
    # A feed is written rounded down, so that it never exceeds what the tool may have.
    feed = np.floor(feed / _SIZE[units] * 10.0 * (1.0 + 1e-12)) / 10.0
    if ((path.feed != 0.0) & (feed <= 0.0)).any():
        raise SlabwrightError("a feed of the tool path is nothing or below nothing; feeds start at 0.1 per minute")
    if not (math.isfinite(spindle_speed) and spindle_speed >= 0.1):
        raise SlabwrightError(f"a spindle speed of {spindle_speed:g} cuts nothing; state turns per minute")
    return points, feed


def _moves(written: Sequence[tuple[str, ...]], feed: np.ndarray) -> Iterator[str]:
    """Lines of the moves: a word only where it changes; a move that is too short to write is left out."""
    motion, feed_before = "G0", 0.0
    before = written[0]
    for place, rate in zip(written[1:], feed.tolist(), strict=True):
        words = [letter + value for letter, value, old in zip("XYZ", place, before, strict=True) if value != old]
        if not words:
            continue
        wanted = "G1" if rate else "G0"
        if wanted != motion:
            words.insert(0, wanted)
        if rate and rate != feed_before:
            words.append(f"F{_number(rate, 1)}")
            feed_before = rate
        motion, before = wanted, place
        yield " ".join(words)


def _number(value: float, decimals: int) -> str:
    """Fixed decimals without closing zeros: every control reads `12.5`, none needs `12.500`; no negative zero."""
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".") if decimals else f"{value:.0f}"
    return "0" if text in ("-0", "") else text


def _heading(
    path: Toolpath,
    setting: Setting,
    name: str,
    units: ProgramUnits,
    cutter_diameter: float,
    spindle_speed: float,
    comments: Sequence[str],
) -> Iterator[str]:
    def length(mm: float) -> str:
        return f"{_number(mm / _SIZE[units], _DECIMALS[units])} {units}"

    fed = np.flatnonzero(np.asarray(path.feed) > 0.0)
    lowest = float(np.minimum(path.points[fed, 2], path.points[fed + 1, 2]).min()) if fed.size else math.nan
    level = lowest - setting.plane
    depth = (
        "nothing is cut"
        if math.isnan(level)
        else "cuts to the finished plane"
        if abs(level) < 0.5 * _SIZE[units] * 10.0 ** -_DECIMALS[units]
        else f"cuts to {length(abs(level))} {'above' if level > 0.0 else 'below'} the finished plane"
    )
    zero = f"top of the fixed block, {length(setting.block)} above the bed" if setting.block else "the bed itself"
    told = [
        f"file: {name}",
        *comments,
        f"face {setting.face} up, clamping {setting.number}; {depth}",
        f"x0 y0: near left corner of the bed; z0: {zero}",
        f"cutter: {length(cutter_diameter)}, {_number(spindle_speed, 1)} turns per minute",
        "never leave it running alone; stop and look after this file",
    ]
    for line in told:
        yield from _comment(line)


def _comment(line: str) -> list[str]:
    """A line of the heading as it stands between brackets; a long one takes several."""
    return textwrap.wrap(plain_comment(line), _WIDEST_COMMENT)


def with_comment(text: str, old: str, new: str) -> str:
    """A program with a line of its heading said otherwise.

    Args:
        text: from `program_text`
        old: one of the comments that it was given
        new: in its place
    """
    there, wanted = ("".join(f"({line})\n" for line in _comment(words)) for words in (old, new))
    return text.replace(there, wanted, 1)


def plain_comment(text: str) -> str:
    """A text as it may stand in a program's comment: plain ASCII letters and marks, without brackets, on one line."""
    text = text.replace("%", " percent").replace(";", ",").replace("(", ", ").replace(")", " ")
    ascii_only = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    plain = " ".join(_NOT_PLAIN.sub(" ", ascii_only).split()).replace(" ,", ",").strip(" ,")
    return f"note: {plain}" if _ACTS.match(plain) else plain
