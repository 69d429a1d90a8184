"""A second reader of surfacing programs, and a second way to the surface that they leave; it shares nothing with the first.

The text is scanned character by character by NISTIR 6556 (2000). The surface is not swept move by move: the moves at feed are
gathered by height, and every cell asks for the nearest of each height; the cutter's side view above that distance is its height.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

Array = NDArray[np.float64]

# NISTIR 6556, Table 4, as far as surfacing goes: word -> (group, value).
_GROUPS = {
    "motion": (0, 1, 2, 3, 38.2, 80, 81, 82, 83, 84, 85, 86, 87, 88, 89),
    "plane": (17, 18, 19),
    "units": (20, 21),
    "compensation": (40, 41, 42),
    "length": (43, 49),
    "system": (54, 55, 56, 57, 58, 59, 59.1, 59.2, 59.3),
    "path": (61, 61.1, 64),
    "distance": (90, 91),
    "feed mode": (93, 94),
    "return": (98, 99),
    "once": (4, 10, 28, 30, 53, 92, 92.1, 92.2, 92.3),
}
_M_GROUPS = {
    "stop": (0, 1, 2, 30, 60),
    "change": (6,),
    "spindle": (3, 4, 5),
    "coolant": (7, 8, 9),
    "override": (48, 49),
}


class ProgramWrongError(ValueError):
    """The program breaks a rule."""


@dataclass
class Cuts:
    """What a program does.

    Attributes:
        fed: lines at feed, each a list of places x, y, z [mm]
        rapid: lines at rapid [mm]
        turning: of each line at feed, whether the spindle turns
        feeds: of each line at feed [mm/min]
    """

    fed: list[list[tuple[float, float, float]]] = field(default_factory=list)
    rapid: list[list[tuple[float, float, float]]] = field(default_factory=list)
    turning: list[bool] = field(default_factory=list)
    feeds: list[float] = field(default_factory=list)
    stopped: bool = True


def words(line: str) -> list[tuple[str, float]]:
    """Letter and number of each word of a line (section 3.3)."""
    bare, depth = [], 0
    for character in line:
        if character == "(":
            depth += 1
        if depth > 1:
            raise ProgramWrongError("a comment in a comment")
        if depth == 0 and character not in " \t":
            bare.append(character.lower())
        if character == ")":
            depth -= 1
        if depth < 0:
            raise ProgramWrongError("a comment closed that was not open")
    if depth:
        raise ProgramWrongError("a comment left open")
    found: list[tuple[str, float]] = []
    at = 0
    while at < len(bare):
        letter = bare[at]
        if letter not in "abcdfghijklmnpqrstxyz":
            raise ProgramWrongError(f"{letter!r} begins no word")
        stop = at + 1
        while stop < len(bare) and bare[stop] in "+-.0123456789":
            stop += 1
        try:
            found.append((letter, float("".join(bare[at + 1 : stop]))))
        except ValueError:
            raise ProgramWrongError(f"no number after {letter!r}") from None
        at = stop
    return found


def read(text: str) -> Cuts:
    """Read a program; raises `ProgramWrongError` at the first broken rule."""
    cuts = Cuts()
    lines = text.split("\n")
    opened = lines[0].strip() == "%"
    if opened:
        try:
            closing = next(i for i in range(1, len(lines)) if lines[i].strip() == "%")
        except StopIteration:
            raise ProgramWrongError("a percent sign at the beginning and none at the end") from None
        lines = lines[1:closing]
    modes: dict[str, float] = {}
    here: list[float | None] = [None, None, None]
    feed, speed, unit, ended = 0.0, 0.0, 0.0, False
    for line in lines:
        if len(line) > 256:
            raise ProgramWrongError("longer than 256 characters")
        found = words(line)
        if ended:
            if found:
                raise ProgramWrongError("words after the end")
            continue
        once: dict[str, float] = {}
        now: dict[str, float] = {}
        for letter, value in found:
            if letter in "gm":
                table = _GROUPS if letter == "g" else _M_GROUPS
                group = next((name for name, values in table.items() if value in values), None)
                if group is None:
                    raise ProgramWrongError(f"{letter}{value:g} is unknown")
                if letter + group in now:
                    raise ProgramWrongError(f"two words of group {group}")
                now[letter + group] = value
            elif letter in once:
                raise ProgramWrongError(f"{letter} twice")
            else:
                once[letter] = value
        # Order of execution, Table 8: feed, speed, spindle, units and the other states, motion, stop.
        if "f" in once:
            if unit == 0.0:
                raise ProgramWrongError("feed before units")
            feed = once["f"] * unit
        speed = once.get("s", speed)
        if "mspindle" in now:
            modes["spindle"] = now["mspindle"]
        if "gunits" in now:
            unit = 25.4 if now["gunits"] == 20 else 1.0
        modes.update({key[1:]: value for key, value in now.items() if key[0] == "g"})
        if any(letter in once for letter in "xyz"):
            _move(once, modes, here, unit, feed, speed, cuts)
        elif any(letter in once for letter in "ijr"):
            raise ProgramWrongError("an arc without an end")
        if now.get("mstop") in (2, 30):
            ended = True
            cuts.stopped = modes.get("spindle", 5) == 5
    if not (ended or opened):
        raise ProgramWrongError("no end")
    return cuts


def _move(
    once: dict[str, float],
    modes: dict[str, float],
    here: list[float | None],
    unit: float,
    feed: float,
    speed: float,
    cuts: Cuts,
) -> None:
    wanted = {"plane": 17, "distance": 90, "feed mode": 94, "compensation": 40, "length": 49, "system": 54}
    if any(modes.get(name) != value for name, value in wanted.items()) or unit == 0.0:
        raise ProgramWrongError("moves before its states are set")
    before = list(here)
    for axis, letter in enumerate("xyz"):
        if letter in once:
            here[axis] = once[letter] * unit
    motion = modes.get("motion", 80)
    if motion == 80:
        raise ProgramWrongError("a place and no motion")
    if motion == 0:
        if None not in before:
            cuts.rapid.append([_place(before), _place(here)])
        return
    if feed <= 0:
        raise ProgramWrongError("no feed")
    if None in before:
        raise ProgramWrongError("feeds from nowhere")
    start, end = _place(before), _place(here)
    if motion == 1:
        track = [start, end]
    elif motion in (2, 3):
        track = _arc(once, start, end, unit, motion == 3)
    else:
        raise ProgramWrongError("no surfacing motion")
    cuts.fed.append(track)
    cuts.feeds.append(feed)
    cuts.turning.append(modes.get("spindle") == 3 and speed > 0)


def _place(values: list[float | None]) -> tuple[float, float, float]:
    x, y, z = values
    assert x is not None and y is not None and z is not None
    return x, y, z


def _arc(
    once: dict[str, float],
    start: tuple[float, float, float],
    end: tuple[float, float, float],
    unit: float,
    left: bool,
) -> list[tuple[float, float, float]]:
    """Places along an arc (section 3.5.3), by complex numbers."""
    a, b = complex(*start[:2]), complex(*end[:2])
    tolerance = 0.0002 * 25.4 if unit == 25.4 else 0.002
    if "x" not in once and "y" not in once:
        raise ProgramWrongError("an arc without an end")
    if "r" in once:
        radius = once["r"] * unit
        if a == b or abs(b - a) > 2 * abs(radius) + 2 * tolerance:
            raise ProgramWrongError("no such arc")
        rise = math.sqrt(max(radius**2 - abs(b - a) ** 2 / 4, 0.0))
        middle = (a + b) / 2 + (1j if left == (radius > 0) else -1j) * rise * (b - a) / abs(b - a)
    elif "i" in once or "j" in once:
        middle = a + complex(once.get("i", 0.0), once.get("j", 0.0)) * unit
        if abs(abs(a - middle) - abs(b - middle)) > tolerance + 1e-9:
            raise ProgramWrongError("ends at different distances from the middle")
    else:
        raise ProgramWrongError("an arc without a middle")
    ratio = (b - middle) / (a - middle)
    angle = math.atan2(ratio.imag, ratio.real)
    if left and angle <= 1e-12:
        angle += 2 * math.pi
    elif not left and angle >= -1e-12:
        angle -= 2 * math.pi
    count = max(8, int(abs(angle) * math.sqrt(abs(a - middle) / 0.0008)))
    steps = [k / count for k in range(count + 1)]
    spots = [middle + (a - middle) * complex(math.cos(s * angle), math.sin(s * angle)) for s in steps]
    return [(p.real, p.imag, start[2] + s * (end[2] - start[2])) for p, s in zip(spots, steps, strict=True)]


def surface(cuts: Cuts, x: Array, y: Array, top: Array, *, block: float, diameter: float, corner: float) -> Array:
    """Heights that the program leaves.

    Args:
        cuts: of the program, level or straight down
        x: middles of cells, shape (nx,) [mm]
        y: middles of cells, shape (ny,) [mm]
        top: heights before, shape (nx, ny); nan: no wood [mm]
        block: height of the program's z zero above the heights' zero [mm]
        diameter: of the cutter [mm]
        corner: radius of its lower edge [mm]
    """
    by_height: dict[float, list[shapely.Geometry]] = {}
    for track in cuts.fed:
        level = {round(z, 9) for _, _, z in track}
        flat = [(px, py) for px, py, _ in track]
        if len(set(flat)) == 1:
            by_height.setdefault(min(level), []).append(shapely.Point(flat[0]))
        elif len(level) == 1:
            by_height.setdefault(level.pop(), []).append(shapely.LineString(flat))
        else:
            raise ProgramWrongError("this reader knows level moves and moves straight down only")
    left = top.copy()
    radius = diameter / 2
    for height, tracks in by_height.items():
        # Only wood that stands above this height can be cut by it.
        row, column = np.nonzero(np.nan_to_num(left, nan=-np.inf) > height + block)
        tree = shapely.STRtree(tracks)
        cells = shapely.points(x[row], y[column])
        (index, _), away = tree.query_nearest(cells, max_distance=radius, return_distance=True, all_matches=False)
        out = np.clip(away - (radius - corner), 0.0, corner)
        under = height + block + corner - np.sqrt(corner**2 - out**2)
        left[row[index], column[index]] = np.minimum(left[row[index], column[index]], under)
    return left
