"""The words of the weld sheets: joints that are made alike, their numbers, what each seam is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from slabwright.base.kinds import Drawn
from slabwright.base.weld_joints import Meeting, meetings
from slabwright.base.weld_plan import Seam, WeldJoint, WeldPlan
from slabwright.sheets.words import NO_BREAK, Words

_LETTERS = "abcdefgh"


@dataclass(frozen=True)
class Alike:
    """Joints that are made alike.

    Attributes:
        mark: its letter on the sheets
        numbers: of the joints
        meeting: of the first of them
        joint: the one that is used most
        seams: its seams, those that are alike together
    """

    mark: str
    numbers: tuple[int, ...]
    meeting: Meeting
    joint: WeldJoint
    seams: tuple[tuple[Seam, ...], ...]

    @property
    def title(self) -> str:
        """Its kind."""
        kind = self.joint.kind
        if kind == "cap":
            kind = f"{self.meeting.chord}, set in flush"
        return kind[:1].upper() + kind[1:]


def joints_alike(drawn: Drawn, welds: WeldPlan) -> tuple[Alike, ...]:
    """The joints of a base by how they are made, numbered in the order of the weld plan."""
    by_name = {meeting.name: meeting for meeting in meetings(drawn)}
    groups: dict[tuple[object, ...], list[int]] = {}
    for number, joint in enumerate(welds.joints):
        meeting = by_name[joint.name]
        key = (
            joint.kind,
            meeting.section.name,
            meeting.onto.name if meeting.onto is not None else round(meeting.thickness, 2),
            round(meeting.angle, 1),
            joint.prepare,
            tuple(
                (seam.place, seam.type, seam.leg, round(seam.throat, 3), round(seam.length), seam.stitches)
                for seam in joint.seams
            ),
        )
        groups.setdefault(key, []).append(number)
    found = []
    for index, group in enumerate(groups.values()):
        most = max((welds.joints[number] for number in group), key=lambda joint: joint.used or 0.0)
        mark = chr(ord("A") + index) if index < 26 else f"A{index - 25}"
        found.append(
            Alike(mark, tuple(n + 1 for n in group), by_name[welds.joints[group[0]].name], most, _seams(most.seams))
        )
    return tuple(found)


def _seams(seams: Iterable[Seam]) -> tuple[tuple[Seam, ...], ...]:
    groups: dict[tuple[object, ...], list[Seam]] = {}
    for seam in seams:
        key = (seam.type, seam.leg, round(seam.throat, 3), seam.ground, seam.bevel, seam.stitches)
        groups.setdefault(key, []).append(seam)
    return tuple(tuple(group) for group in groups.values())


def letter(number: int) -> str:
    """Of a group of seams, from 0."""
    return _LETTERS[number]


def spans(numbers: Sequence[int]) -> str:
    """Numbers with runs drawn together: 1 to 4, 7."""
    found: list[str] = []
    start = 0
    for k in range(1, len(numbers) + 1):
        if k < len(numbers) and numbers[k] == numbers[k - 1] + 1:
            continue
        run = numbers[start:k]
        found.append(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(str(n) for n in run))
        start = k
    return ", ".join(found)


def places(seams: Iterable[Seam]) -> str:
    """Where some seams of a joint are."""
    return ", ".join(seam.place.replace("of the corner", "").strip() for seam in seams)


def size_of(seam: Seam, words: Words) -> str:
    """The size that is laid down, as it is measured."""
    return f"leg {words.fine(seam.leg)}" if seam.leg is not None else "filled flush"


def after(seam: Seam) -> str:
    """What becomes of it."""
    return "ground flush" if seam.ground else "left as laid"


def share(used: float | None) -> str:
    """Share of its strength that the load takes."""
    if used is None:
        return "no load"
    return f"under 1{NO_BREAK}%" if used < 0.01 else f"{used:.0%}".replace("%", f"{NO_BREAK}%")


def minutes(value: float) -> str:
    """A time."""
    return f"{value:.0f} min" if value < 90.0 else f"{value / 60.0:.1f} h"


def run_of(mm: float, words: Words) -> str:
    """A length of seam: metres or feet."""
    return f"{mm / 1000.0:.1f} m" if words.metric else f"{mm / 304.8:.1f} ft"
