"""Path data of SVG, flattened to corners.

References:
    .. [1] Scalable Vector Graphics (SVG) 1.1, second edition, W3C 2011: chapter 8 (paths), appendix F.6 (elliptical arcs)
"""

from __future__ import annotations

import cmath
import math
import re
from dataclasses import dataclass, field

_NUMBER = re.compile(r"[\s,]*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)", re.ASCII)
_FLAG = re.compile(r"[\s,]*([01])")
_COMMAND = re.compile(r"[\s,]*([A-Za-z])")
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_MOST_PIECES = 500
_FARTHEST = 1e9
"""Units; no drawing is so large, and beyond some such bound its curves could not be computed."""


class PathError(ValueError):
    """Path data that can't be read; says which part."""


@dataclass
class _Pen:
    """Where the drawing of a path stands; points are complex numbers x + iy."""

    flatness: float
    at: complex = 0j
    start: complex = 0j
    handle: complex | None = None
    handle_of: str = ""
    corners: list[complex] = field(default_factory=list)
    loops: list[list[complex]] = field(default_factory=list)

    def finish(self, closed: bool) -> None:
        """End a subpath; one that is not closed and does not end where it began is no loop."""
        if len(self.corners) > 2 and (closed or abs(self.corners[-1] - self.corners[0]) <= self.flatness):
            self.loops.append(self.corners)
        self.corners = []

    def line(self, end: complex) -> None:
        if not self.corners:
            self.corners = [self.at]
        self.corners.append(end)
        self.at = end

    def cubic(self, first: complex, second: complex, end: complex) -> None:
        start = self.at
        # A piece of a curve lies within an eighth of its greatest second derivative, over the pieces squared, of its chord.
        bend = 6.0 * max(abs(start - 2 * first + second), abs(first - 2 * second + end))
        pieces = _pieces(math.sqrt(bend / (8.0 * self.flatness)))
        for step in range(1, pieces + 1):
            t = step / pieces
            u = 1.0 - t
            self.line(u**3 * start + 3 * u * u * t * first + 3 * u * t * t * second + t**3 * end)

    def arc(self, rx: float, ry: float, turn: float, large: bool, sweep: bool, end: complex) -> None:
        """An elliptical arc by its end points, appendix F.6.5 and F.6.6 [1]_."""
        start, rx, ry = self.at, abs(rx), abs(ry)
        chord = abs(end - start)
        if min(rx, ry) <= 1e-9 * chord or chord <= 1e-9 * max(rx, ry):
            self.line(end)
            return
        axis = cmath.rect(1.0, math.radians(turn))
        half = (start - end) / 2.0 / axis
        over = math.hypot(half.real / rx, half.imag / ry)
        if over > 1.0:
            rx, ry = rx * over, ry * over
            over = 1.0
        shift = math.sqrt(max(0.0, 1.0 / (over * over) - 1.0)) * (-1.0 if large == sweep else 1.0)
        middle = shift * complex(rx * half.imag / ry, -ry * half.real / rx)
        first = cmath.phase(complex((half.real - middle.real) / rx, (half.imag - middle.imag) / ry))
        last = cmath.phase(complex((-half.real - middle.real) / rx, (-half.imag - middle.imag) / ry))
        swept = (last - first) % math.tau if sweep else -((first - last) % math.tau)
        centre = middle * axis + (start + end) / 2.0
        step_most = 2.0 * math.acos(max(0.0, 1.0 - self.flatness / max(rx, ry)))
        pieces = _pieces(abs(swept) / max(step_most, 1e-6))
        for step in range(1, pieces):
            angle = first + swept * step / pieces
            self.line(centre + complex(rx * math.cos(angle), ry * math.sin(angle)) * axis)
        self.line(end)


def _pieces(wanted: float) -> int:
    return max(1, min(_MOST_PIECES, math.ceil(wanted))) if math.isfinite(wanted) else _MOST_PIECES


def loops_of_path(data: str, flatness: float) -> list[list[complex]]:
    """The closed subpaths of path data, as corners.

    Args:
        data: the `d` attribute
        flatness: how far a curve may lie from its corners, in the path's own unit

    Raises:
        PathError: data that can't be read.
    """
    pen, where, command = _Pen(flatness), 0, ""
    while data[where:].strip(" \t\r\n\f,"):
        match = _COMMAND.match(data, where)
        if match:
            command, where = match.group(1), match.end()
            if command.upper() not in _ARGUMENTS:
                raise PathError(f"{command} is no path command")
        elif not command or command in "Zz":
            raise PathError("a path command is missing")
        values, where = _arguments(data, where, command)
        _draw(pen, command, values)
        # Further pairs after a move are lines.
        command = {"M": "L", "m": "l"}.get(command, command)
    pen.finish(closed=False)
    return pen.loops


def _arguments(data: str, where: int, command: str) -> tuple[list[float], int]:
    values: list[float] = []
    for index in range(_ARGUMENTS[command.upper()]):
        match = (_FLAG if command in "Aa" and index in (3, 4) else _NUMBER).match(data, where)
        if match is None:
            raise PathError(f"{command} has too few numbers")
        values.append(float(match.group(1)))
        if abs(values[-1]) > _FARTHEST:
            raise PathError(f"{match.group(1)[:20]} is too large")
        where = match.end()
    return values, where


def _draw(pen: _Pen, command: str, values: list[float]) -> None:
    base = pen.at if command.islower() else 0j
    points = [base + complex(*values[at : at + 2]) for at in range(0, len(values) - 1, 2)]
    letter, handle, handle_of = command.upper(), pen.handle, pen.handle_of
    pen.handle, pen.handle_of = None, ""
    if letter == "M":
        pen.finish(closed=False)
        pen.at = pen.start = points[0]
    elif letter == "Z":
        pen.finish(closed=True)
        pen.at = pen.start
    elif letter == "L":
        pen.line(points[0])
    elif letter == "H":
        pen.line(complex(base.real + values[0], pen.at.imag))
    elif letter == "V":
        pen.line(complex(pen.at.real, base.imag + values[0]))
    elif letter == "A":
        pen.arc(values[0], values[1], values[2], values[3] == 1.0, values[4] == 1.0, base + complex(*values[5:7]))
    else:
        mirrored = (
            2 * pen.at - handle if handle is not None and handle_of == ("C" if letter in "CS" else "Q") else pen.at
        )
        if letter in "CS":
            first, second, end = points if letter == "C" else (mirrored, *points)
            pen.cubic(first, second, end)
            pen.handle, pen.handle_of = second, "C"
        else:
            bend, end = points if letter == "Q" else (mirrored, *points)
            pen.cubic((pen.at + 2 * bend) / 3, (end + 2 * bend) / 3, end)
            pen.handle, pen.handle_of = bend, "Q"
