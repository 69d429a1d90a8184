"""Reading a program's text: the moves that a control would make of it, and every line that it would refuse.

Stricter than a control: what a surfacing program does not need (macros, increments, offsets, canned cycles) is refused, and
every state that moves depend on must be stated before the first move, for a control keeps what the last job left.

References:
    .. [1] NISTIR 6556 (2000), The NIST RS274NGC Interpreter, Version 3.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from slabwright.findings import SlabwrightError
from slabwright.machine.faults import Fault, FaultKind
from slabwright.quantities import INCH
from slabwright.reference.rs274 import Language, language


@dataclass(frozen=True, slots=True)
class Arc:
    """A turn about an axis along z: middle [mm] and angle [rad], positive counterclockwise seen from above."""

    x: float
    y: float
    angle: float


@dataclass(frozen=True, slots=True)
class Move:
    """One move, in the program's own zero.

    Attributes:
        line: of the text, from 1
        start: x, y, z; nan where the program has not said yet [mm]
        end: x, y, z; nan where the program has not said yet [mm]
        feed: 0: a rapid [mm/min]
        speed: of the spindle, turns per minute; 0: it stands
        arc: how it turns; None: straight
    """

    line: int
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    feed: float
    speed: float
    arc: Arc | None = None


@dataclass(frozen=True)
class Reading:
    """A program as it was read.

    Attributes:
        moves: in order
        faults: in order; with any, the moves are not to be trusted
        units: `G20` or `G21`; empty where none is stated
        speed_at_end: of the spindle, as it was before the end of the program stopped it
    """

    moves: tuple[Move, ...]
    faults: tuple[Fault, ...]
    units: str
    speed_at_end: float


_TOKEN = re.compile(r"([A-Z])([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))")
_COMMENT = re.compile(r"\([^()]*\)")
_LINE_END = re.compile(r"\r\n|\n|\r")
_AXES = "XYZ"
# What must be stated before the first move, by modal group: the one word that may be, and what it does.
_BEFORE_MOVING = {
    "units": ("G20 or G21", "inches or millimetres"),
    "plane": ("G17", "arcs in x and y"),
    "cutter_compensation": ("G40", "no cutter compensation"),
    "length_offset": ("G49", "no tool length offset"),
    "coordinate_system": ("G54", "the first zero"),
    "distance": ("G90", "absolute places"),
    "feed_mode": ("G94", "feed per minute"),
}


class _RefusedError(Exception):
    """A line that cannot be done."""

    def __init__(self, kind: FaultKind, message: str) -> None:
        super().__init__(message)
        self.kind: FaultKind = kind


@dataclass
class _State:
    """What a control keeps from line to line."""

    language: Language
    modes: dict[str, str] = field(default_factory=dict)
    size: float = math.nan
    feed: float = math.nan
    speed: float = math.nan
    turning: bool = False
    place: tuple[float, float, float] = (math.nan, math.nan, math.nan)
    ready: bool = False
    ended: bool = False


def interpret(text: str) -> list[Move]:
    """The moves of a program.

    Args:
        text: the program

    Returns:
        Its moves in order, in the program's own zero [mm].

    Raises:
        SlabwrightError: names the first line that is wrong.
    """
    reading = read_program(text)
    if reading.faults:
        first = min(reading.faults, key=lambda fault: fault.line or math.inf)
        place = f"line {first.line}: " if first.line else ""
        raise SlabwrightError(f"program, {place}{first.message}")
    return list(reading.moves)


def read_program(text: str) -> Reading:
    """Read a program line by line, in the order of execution within a line of NISTIR 6556, Table 8 [1]_.

    Args:
        text: the program

    Returns:
        Its moves and its faults. A line with a fault makes no move.
    """
    state = _State(language())
    moves: list[Move] = []
    faults: list[Fault] = []
    lines = _LINE_END.split(text)
    marked, closed = False, False
    for number, line in enumerate(lines, 1):
        try:
            code = _code(line, state.language)
            if code.startswith("%"):
                if code != "%":
                    raise _RefusedError("form", "the percent sign stands on a line of its own")
                if not marked and (state.ended or state.modes or moves):
                    raise _RefusedError("form", "a percent sign that closes what none opened")
                if marked:
                    closed = True
                    break
                marked = True
            elif code:
                if state.ended:
                    raise _RefusedError(
                        "end", f"'{_shown(line)}' stands after the end of the program and would never be done"
                    )
                _do(code, number, state, moves)
        except _RefusedError as refused:
            faults.append(Fault(number, refused.kind, str(refused)))
    if marked and not closed:
        faults.append(
            Fault(0, "end", "the file opens with a percent sign and does not close with one; it may be cut off")
        )
    if not state.ended and not closed:
        faults.append(Fault(0, "end", "the program has no end: M2 is missing; it may be cut off"))
    elif not state.ended:
        faults.append(Fault(0, "end", "M2 is missing before the closing percent sign; the program may be cut off"))
    speed = state.speed if state.turning else 0.0
    return Reading(tuple(moves), tuple(faults), state.modes.get("units", ""), speed)


def _shown(line: str) -> str:
    text = "".join(c if c.isprintable() else "?" for c in line.strip())
    return text if len(text) <= 40 else text[:37] + "..."


def _code(line: str, rules: Language) -> str:
    """The words of a line: no comments, no blanks, capital letters."""
    if len(line) > rules.longest_line:
        raise _RefusedError("form", f"{len(line)} characters; a line holds at most {rules.longest_line}")
    if not line.isascii():
        raise _RefusedError("form", "a character outside plain ASCII; a control may read anything in its place")
    if "(" in line or ")" in line:
        # The comment's place is kept as a mark, so that two halves of a number do not grow together.
        line = _COMMENT.sub("|", line)
        if "(" in line or ")" in line:
            raise _RefusedError("form", "a comment that is not closed, or one within another")
    code = line.replace(" ", "").replace("\t", "").upper()
    if "|" in code:
        code = "|".join(part for part in code.split("|") if part)
    return code


def _do(code: str, number: int, state: _State, moves: list[Move]) -> None:
    """Do one line."""
    tokens = _TOKEN.findall(code)
    if sum(map(len, map("".join, tokens))) != len(code):
        tokens = _parted(code)
    rules = state.language
    stated: dict[str, str] = {}
    values: dict[str, float] = {}
    for index, (letter, digits) in enumerate(tokens):
        if letter in "GM":
            _take_code(letter, digits, stated, rules)
        elif letter == "N":
            if index or not digits.isdigit() or len(digits) > 5 or int(digits) > rules.highest_number:
                raise _RefusedError(
                    "form", f"a line's number comes first and is 0 to {rules.highest_number}: 'N{digits}'"
                )
        elif letter not in rules.letters:
            raise _RefusedError("word", f"'{letter}{digits}' is no word of RS-274")
        elif letter not in rules.surfacing_letters and letter != "K":
            raise _RefusedError("word", f"'{letter}{digits}' has no place in a surfacing program")
        elif letter in values:
            raise _RefusedError("group", f"{letter} stands twice on one line")
        else:
            values[letter] = float(digits)
    if stated or "F" in values or "S" in values:
        _set_states(stated, values, state, bool(moves))
    axes = {letter: values[letter] for letter in _AXES if letter in values}
    motion = state.modes.get("motion", "")
    if axes:
        moves.append(_move(motion, axes, values, number, state))
        state.place = moves[-1].end
    elif "I" in values or "J" in values or "K" in values or "R" in values:
        raise _RefusedError("axes", "I, J or R without X or Y: an arc that ends nowhere")
    elif stated.get("motion", "G80") != "G80":
        raise _RefusedError("axes", f"{stated['motion']} without X, Y or Z moves nothing")
    if stated.get("stopping"):
        state.ended = True


def _parted(code: str) -> list[tuple[str, str]]:
    """The words of a line whose comments stand between words, or the reason why there are none."""
    tokens: list[tuple[str, str]] = []
    for part in code.split("|"):
        found = _TOKEN.findall(part)
        if sum(len(letter) + len(digits) for letter, digits in found) == len(part):
            tokens += found
        elif set(part) & set("#[]="):
            raise _RefusedError("word", f"'{_shown(part)}': parameters and sums have no place in a surfacing program")
        elif part.startswith("/"):
            raise _RefusedError("word", f"'{_shown(part)}': whether this line is done hangs on a switch of the control")
        else:
            raise _RefusedError("form", f"'{_shown(part)}' is not made of words, a letter and a number each")
    return tokens


def _take_code(letter: str, digits: str, stated: dict[str, str], rules: Language) -> None:
    """Note a G or M word under its modal group."""
    value = float(digits)
    word = f"{letter}{value:g}"
    group = rules.groups.get(word)
    if value < 0 or group is None:
        raise _RefusedError("word", f"'{letter}{digits}' is no word of RS-274")
    if group in stated:
        raise _RefusedError("group", f"{stated[group]} and {word} on one line: both are of one modal group ({group})")
    if word not in rules.surfacing:
        raise _RefusedError("word", f"{word} has no place in a surfacing program")
    stated[group] = word


def _set_states(stated: Mapping[str, str], values: Mapping[str, float], state: _State, moved: bool) -> None:
    """Feed, speed, spindle, units and the other modes, in the order of Table 8."""
    unit_word = stated.get("units")
    if "F" in values:
        if values["F"] < 0:
            raise _RefusedError("feed", f"a feed of {values['F']:g} is below nothing")
        if math.isnan(state.size) or (unit_word and unit_word != state.modes.get("units")):
            raise _RefusedError("units", "a feed before the units it counts in; G20 or G21 goes on a line before it")
        state.feed = values["F"] * state.size
    if "S" in values:
        if values["S"] < 0:
            raise _RefusedError("spindle", f"a speed of {values['S']:g} is below nothing")
        state.speed = values["S"]
    if "spindle" in stated:
        state.turning = stated["spindle"] == "M3"
        if state.turning and not state.speed > 0:
            state.turning = False
            raise _RefusedError("spindle", "M3 without a speed: S is missing or nothing")
    if unit_word:
        if moved and unit_word != state.modes.get("units"):
            raise _RefusedError(
                "units", f"{unit_word} after moves in {state.modes.get('units')}: units are mixed in one file"
            )
        state.size = INCH if unit_word == "G20" else 1.0
    for group, word in stated.items():
        if group not in ("spindle", "stopping"):
            state.modes[group] = word


def _move(motion: str, axes: Mapping[str, float], values: Mapping[str, float], number: int, state: _State) -> Move:
    """The move of one line."""
    if motion in ("", "G80"):
        raise _RefusedError("axes", "a place with no motion word in force; state G0 or G1")
    if not state.ready:
        for group, (word, meaning) in _BEFORE_MOVING.items():
            if group not in state.modes:
                kind: FaultKind = "units" if group == "units" else "state"
                raise _RefusedError(
                    kind, f"a move before {word} ({meaning}) is stated; the last job may have left another state"
                )
        state.ready = True
    size, (x, y, z) = state.size, state.place
    end = (
        axes["X"] * size if "X" in axes else x,
        axes["Y"] * size if "Y" in axes else y,
        axes["Z"] * size if "Z" in axes else z,
    )
    feed = 0.0
    if motion != "G0":
        feed = state.feed
        if not feed > 0:
            raise _RefusedError("feed", "a move at feed with no feed in force: F is missing or nothing")
    speed = state.speed if state.turning else 0.0
    if motion in ("G0", "G1"):
        if "I" in values or "J" in values or "K" in values or "R" in values:
            raise _RefusedError("axes", f"I, J or R on a straight move ({motion})")
        return Move(number, state.place, end, feed, speed)
    return Move(number, state.place, end, feed, speed, _arc(motion, axes, values, end, state))


def _arc(
    motion: str,
    axes: Mapping[str, float],
    values: Mapping[str, float],
    end: tuple[float, float, float],
    state: _State,
) -> Arc:
    """Middle and angle of an arc, in centre or in radius form."""
    x, y = state.place[:2]
    size = state.size
    tolerance = state.language.arc_tolerance[state.modes["units"]] * size
    by_centre = "I" in values or "J" in values
    if "K" in values:
        raise _RefusedError("arc", "K on an arc in x and y")
    if math.isnan(x + y + end[0] + end[1]):
        raise _RefusedError("start", "an arc from a place that the program has not stated")
    if "X" not in axes and "Y" not in axes:
        raise _RefusedError("arc", "an arc wants X or Y of its end")
    if by_centre == ("R" in values):
        raise _RefusedError("arc", "an arc wants its middle (I, J) or its radius (R), one of them")
    turn = 1.0 if motion == "G3" else -1.0
    if by_centre:
        middle_x, middle_y = x + values.get("I", 0.0) * size, y + values.get("J", 0.0) * size
        radius, to_end = math.hypot(x - middle_x, y - middle_y), math.hypot(end[0] - middle_x, end[1] - middle_y)
        # Places are written in decimals that binary numbers do not hold: a difference of just the tolerance passes.
        if abs(radius - to_end) > tolerance * (1.0 + 1e-9) + 1e-9:
            raise _RefusedError(
                "arc", f"the ends of the arc differ by {abs(radius - to_end):.4f} mm in their distance from its middle"
            )
        if radius <= tolerance:
            raise _RefusedError("arc", "an arc without a radius")
    else:
        middle_x, middle_y = _middle_of_radius(values["R"] * size, (x, y), end, turn, tolerance)
    from_angle = math.atan2(y - middle_y, x - middle_x)
    to_angle = math.atan2(end[1] - middle_y, end[0] - middle_x)
    swept = (turn * (to_angle - from_angle)) % math.tau
    if by_centre and (x, y) == end[:2]:
        swept = math.tau
    return Arc(middle_x, middle_y, turn * swept)


def _middle_of_radius(
    radius: float, start: tuple[float, float], end: tuple[float, float, float], turn: float, tolerance: float
) -> tuple[float, float]:
    chord_x, chord_y = end[0] - start[0], end[1] - start[1]
    chord = math.hypot(chord_x, chord_y)
    if chord == 0.0:
        raise _RefusedError("arc", "an arc by its radius that ends where it starts")
    if chord / 2.0 > abs(radius) + tolerance:
        raise _RefusedError(
            "arc", f"a radius of {abs(radius):.3f} mm does not reach the end of the arc, {chord:.3f} mm away"
        )
    rise = math.sqrt(max(radius * radius - chord * chord / 4.0, 0.0))
    # Up to half a turn the middle lies left of a counterclockwise chord; beyond it, on the other side.
    side = turn if radius > 0 else -turn
    return (
        (start[0] + end[0]) / 2.0 - side * rise * chord_y / chord,
        (start[1] + end[1]) / 2.0 + side * rise * chord_x / chord,
    )
