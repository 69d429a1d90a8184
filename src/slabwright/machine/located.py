"""What locating a touched-off piece on the machine hands on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from slabwright.accounts import figure, working
from slabwright.geometry.faces import Floats
from slabwright.geometry.touches import covariance_at, radius_within

DatumKind = Literal["point", "edge along", "edge across"]
FaceUp = Literal["show", "underside"]

_TOUCHES = ("job:top.datums",)
_FIT = "the turn and shift for which the touches are off by least, each counted by its stated error"
_AT_FEATURE = "error of turn and shift carried to the feature's farthest corner"


@dataclass(frozen=True)
class DatumOff:
    """One touched place, and how well it agrees with the others."""

    name: str = figure("", "of the touched place")
    kind: DatumKind = figure("", "point, edge along or edge across", rests_on=_TOUCHES)
    off_along: float | None = figure(
        "mm",
        "along the piece, from where the drawing has it; empty where that was not touched",
        how="the touched place brought back to the piece, less the stated one; for the one odd place as the others have it",
        rests_on=["job:top.datums", "machine.locating.located.turn"],
        change="touch it again, or mend the stated place",
    )
    off_across: float | None = figure(
        "mm",
        "across the piece, from where the drawing has it; empty where that was not touched",
        how="the touched place brought back to the piece, less the stated one; for the one odd place as the others have it",
        rests_on=["job:top.datums", "machine.locating.located.turn"],
        change="touch it again, or mend the stated place",
    )
    off_most: float | None = figure(
        "mm",
        "that it could be off by, 99 times in 100, with the errors stated; empty where no other touch checks it",
        how="spread of what the touch is off by once the fit has taken its part, times 2.576",
        rests_on=_TOUCHES,
    )
    odd: bool = figure("", "whether it does not agree with the others", rests_on=_TOUCHES)


@dataclass(frozen=True)
class FeatureError:
    """How far off one feature may be cut."""

    name: str = figure("", "of the feature")
    x: float = figure("mm", "of its middle on the machine", how=_FIT, rests_on=_TOUCHES)
    y: float = figure("mm", "of its middle on the machine", how=_FIT, rests_on=_TOUCHES)
    error_along: float = figure(
        "mm", "usual error along the piece (two in three are smaller)", how=_AT_FEATURE, rests_on=_TOUCHES
    )
    error_across: float = figure(
        "mm", "usual error across the piece (two in three are smaller)", how=_AT_FEATURE, rests_on=_TOUCHES
    )
    radius: float = figure(
        "mm",
        "that locating errs by at most, 99 times in 100, at its worst corner",
        how=_AT_FEATURE + ", as the radius that 99 of 100 errors stay within",
        rests_on=_TOUCHES,
        change="touch one more place, far from the others",
    )
    most: float = figure(
        "mm",
        "that the feature may be off by, the machine's own error with it",
        how="what locating errs by and the machine's own error, added",
        rests_on=["job:top.datums", "job:top.machine_error"],
    )
    clearance: float = figure("mm", "room that the feature has", rests_on=["job:top.clearances.placing"])
    go: bool = figure("", "whether that fits the room", how="the error, the machine's own with it, is at most the room")


@dataclass(frozen=True)
class AddedDatum:
    """A place to touch as well: of those tried, the one that helps most."""

    name: str = figure("", "of the place")
    kind: DatumKind = figure("", "point, edge along or edge across")
    x: float = figure("mm", "along the piece from its left end", how="from the piece's size, or the hole's place")
    y: float = figure("mm", "across the piece from its centre line", how="from the piece's size, or the hole's place")
    most: float = figure(
        "mm",
        "greatest error of a feature, 99 times in 100, with it and with the machine's own",
        how="worked out with one more touch at each place that could be touched",
        rests_on=_TOUCHES,
    )
    go: bool = figure("", "whether every feature's error fits its room then")


@dataclass(frozen=True)
class Located:
    """How the piece lies on the machine, how sure that is, and whether its features may be cut."""

    face_up: FaceUp = figure("", "the face that is up and is cut")
    turn: float = figure(
        "deg",
        "of the piece on the machine, counterclockwise from above",
        how=_FIT,
        rests_on=_TOUCHES,
        sure="machine.locating.located.turn_error",
        change="lay it straighter; or leave it: programs follow the turn",
    )
    turn_error: float = figure(
        "deg", "usual error of the turn (two in three are smaller)", how="from the touches' errors", rests_on=_TOUCHES
    )
    shift_x: float = figure("mm", "of the drawing's origin on the machine", how=_FIT, rests_on=_TOUCHES)
    shift_y: float = figure("mm", "of the drawing's origin on the machine", how=_FIT, rests_on=_TOUCHES)
    datums: tuple[DatumOff, ...] = figure("", "the touched places", rests_on=_TOUCHES)
    spare: int = figure(
        "1",
        "touched figures beyond the three that fix turn and shift: they check the others",
        how="two for a point, one for an edge, less three",
        rests_on=_TOUCHES,
    )
    scale: float = figure(
        "1",
        "by which the stated errors were raised, because the touches disagree by more than they allow",
        how="where less than 1 in 100 layouts would disagree so much: root of the sum of (off / error)^2 over the spare touches",
        rests_on=_TOUCHES,
        source="Birge ratio: R. T. Birge, Physical Review 40, 1932 (from memory)",
        change="touch again; look for dust, a worn edge, a wrong stated place",
    )
    features: tuple[FeatureError, ...] = figure("", "error at each feature")
    chance_out: float = figure(
        "1",
        "chance that any of the features lies farther off than its room",
        how="errors of turn and shift together, over all features, the machine's own error taken off their room",
        rests_on=["job:top.datums", "job:top.machine_error", "job:top.clearances.placing"],
    )
    go: bool = figure(
        "",
        "whether the features may be cut",
        how="no touch is odd, every feature fits its room, and all together miss at most 1 time in 100",
    )
    add: AddedDatum | None = figure("", "the place to touch as well that helps most; empty where none was tried")
    machine_error: float = figure("mm", "of the machine's own positioning, 99 %", rests_on=["job:top.machine_error"])
    covariance: Floats = working()

    @property
    def mirrored(self) -> bool:
        """Whether the drawing's y runs the other way on the machine: the underside is up."""
        return self.face_up == "underside"

    def matrix(self) -> tuple[float, float, float, float, float, float]:
        """From the drawing to the machine: x' = a x + b y + e, y' = c x + d y + f, as (a, b, c, d, e, f)."""
        cos, sin = float(np.cos(np.radians(self.turn))), float(np.sin(np.radians(self.turn)))
        side = -1.0 if self.mirrored else 1.0
        return cos, -sin * side, sin, cos * side, self.shift_x, self.shift_y

    def to_machine(self, points: Floats) -> Floats:
        """Places of the drawing, shape (n, 2) or (2,), on the machine [mm]."""
        a, b, c, d, e, f = self.matrix()
        return np.asarray(np.asarray(points, dtype=np.float64) @ np.array([(a, c), (b, d)]) + (e, f))

    def to_piece(self, points: Floats) -> Floats:
        """Places on the machine, shape (n, 2) or (2,), in the drawing [mm]."""
        a, b, c, d, e, f = self.matrix()
        return np.asarray((np.asarray(points, dtype=np.float64) - (e, f)) @ np.array([(a, b), (c, d)]))

    def radius_at(self, points: Floats) -> Floats:
        """That locating errs by at most, 99 times in 100, at places of the drawing, shape (n, 2) [mm]."""
        return radius_within(covariance_at(self.covariance, self.laid(points)))

    def laid(self, points: Floats) -> Floats:
        """Places of the drawing as seen from above with this face up, shape (n, 2) [mm]."""
        return np.asarray(points, dtype=np.float64) * ((1.0, -1.0) if self.mirrored else (1.0, 1.0))
