"""What is promised: from the thickest board of the readings to the one that comes out 19 times in 20."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from slabwright.accounts import figure, working
from slabwright.geometry.faces import Floats
from slabwright.geometry.planes import PlanePair
from slabwright.slab.hidden import Hidden, HiddenFace
from slabwright.slab.seat import Term
from slabwright.slab.survey import Tie

TermName = Literal["between readings", "marks and sanding", "tie", "shims", "z zero"]


@dataclass(frozen=True)
class Between:
    """What the surface between the readings takes at one tilt, draw by draw.

    Attributes:
        loss_a: by how much the lowest place of face A lies below the plane through its readings, shape (draws,) [mm]
        loss_b: the same above the plane through face B's [mm]
        note: what to know, in the bench's words
    """

    loss_a: Floats
    loss_b: Floats
    note: str = ""


@dataclass(frozen=True)
class Promise:
    """The promised thickness and the steps that lead to it."""

    low: float = figure(
        "mm",
        "promised: the board is at least this thick 19 times in 20",
        how="the board of the readings less what 400 drawn surfaces, tie, shims and z zero take, at their worst 1 in 20",
        rests_on=("slab.seat.thickness", "job:slab.reading_error", "shop:machine.z_zero_error"),
        sure="kept by 93 to 98 in 100 invented slabs, rough and smooth",
        source="Gaussian process with drawn length scales",
        change="read the places that are named, read the border, or read closer",
        rounds="down",
    )
    even: float = figure(
        "mm",
        "even chance: half of such boards come out thicker",
        how="as the promised one, at the middle of the draws",
        rests_on=("slab.seat.thickness",),
        sure="a little on the safe side",
        source="Gaussian process with drawn length scales",
        change="as the promised one",
    )
    terms: tuple[Term, ...] = figure("", "from the readings to the promise, step by step")
    loss_a: float = figure(
        "mm",
        "what face A's surface between readings takes, median",
        how="lowest reading less lowest place of the drawn surfaces, square to the lie",
        rests_on=("slab.survey.spacing", "slab.survey.unread_border"),
        change="read face A closer, and at its border",
    )
    loss_b: float = figure(
        "mm",
        "what face B's surface between readings takes, median",
        how="highest place of the drawn surfaces less highest reading, square to the lie",
        rests_on=("slab.survey.spacing", "slab.survey.unread_border"),
        change="read face B closer, and at its border",
    )
    samples: Floats = working()
    """Boards, shape (draws,) [mm]."""


def between_readings(
    hidden: Hidden, planes: PlanePair, x_from: float | None = None, x_to: float | None = None
) -> Between:
    """What lies hidden between the readings takes off the board at a tilt, without seating it anew.

    Args:
        hidden: draws of both faces
        planes: the tilt; only its slopes count, the planes are moved to touch the readings
        x_from: count only what lies from here on [mm]
        x_to: count only what lies up to here [mm]

    Raises:
        ValueError: no reading of a face lies in that stretch.
    """
    low = -math.inf if x_from is None else x_from
    high = math.inf if x_to is None else x_to
    loss_a = _loss(hidden.face_a, planes.a, planes.b, low, high, hidden.draws) / planes.slant
    loss_b = _loss(hidden.face_b, -planes.a, -planes.b, low, high, hidden.draws) / planes.slant
    return Between(loss_a, loss_b, hidden.note)


def _loss(face: HiddenFace, a: float, b: float, low: float, high: float, draws: int) -> Floats:
    """Vertical loss of one face, draw by draw."""
    if face.finer:
        return np.zeros(draws)
    inside = (face.x >= low) & (face.x <= high)
    read = inside[: face.read.size]
    if not read.any():
        raise ValueError(f"no reading of face {face.face} between x = {low:g} and {high:g}")
    tilt = a * face.x + b * face.y
    lowest_read = float((face.read - tilt[: face.read.size])[read].min())
    heights = face.smooth - face.drop
    heights -= (tilt + lowest_read).astype(np.float32)
    if not inside.all():
        heights = heights[:, inside]
    return np.asarray(-heights.min(axis=1), dtype=np.float64)


def promise(
    thickness: float,
    between: Between,
    *,
    tie: Tie | None,
    tie_point: tuple[float, float],
    shim_loss: float,
    shim_error: float,
    z_zero_error: float,
    marks_and_sanding: float,
    level: float = 0.95,
    basis: Mapping[str, str] | None = None,
) -> Promise:
    """The thickness kept with a probability, and what each uncertain thing takes from it.

    The terms are taken one after the other, each on the joint draws of all before it, so that they add up:
    thickness - sum of losses = low, and thickness - sum of medians = even.

    Args:
        thickness: flat board of the readings [mm]
        between: what lies between the readings, at the same tilt
        tie: of two set-ups; its share is J C J' at `tie_point`
        tie_point: x, y where the contacts of the two faces oppose [mm]
        shim_loss: thickness lost because stacks come in steps [mm]
        shim_error: standard error of the thickness from the stacks' own errors [mm]
        z_zero_error: standard error of the first face's z zero; an error loses either way [mm]
        marks_and_sanding: allowance on each face [mm]
        level: probability that the promise is kept
        basis: what each term rests on, by its name
    """
    draws = between.loss_a.size
    generator = np.random.default_rng(draws)
    normal = generator.permuted(np.tile(_even_normals(draws), (3, 1)), axis=1)
    steps: list[tuple[TermName, Floats]] = [
        ("between readings", between.loss_a + between.loss_b),
        ("tie", tie_error(tie, *tie_point) * normal[0]),
        ("shims", shim_loss + shim_error * normal[1]),
        ("z zero", np.abs(z_zero_error * normal[2])),
        ("marks and sanding", np.full(draws, 2.0 * marks_and_sanding)),
    ]
    words = dict(basis or {})
    board = np.full(draws, float(thickness))
    low = even = float(thickness)
    terms = []
    for name, loss in steps:
        board = board - loss
        next_low, next_even = float(np.quantile(board, 1.0 - level)), float(np.median(board))
        terms.append(Term(name, low - next_low, even - next_even, words.get(name, "")))
        low, even = next_low, next_even
    loss_a, loss_b = float(np.median(between.loss_a)), float(np.median(between.loss_b))
    return Promise(low, even, tuple(terms), loss_a, loss_b, board)


def _even_normals(count: int) -> Floats:
    """Standard normal values at evenly spaced probabilities."""
    from scipy.special import ndtri

    return np.asarray(ndtri((np.arange(count) + 0.5) / count), dtype=np.float64)


def tie_error(tie: Tie | None, x: float, y: float) -> float:
    """Standard error of the thickness at a point from the tie of two set-ups, sqrt(J C J') [mm].

    J = (1, x, y, bow). How far along the slab the point lies is not asked: the greater of no bow, as at the ends, and the
    whole one, as at mid-length, is taken.
    """
    if tie is None:
        return 0.0
    rows = np.array([[1.0, x, y, 0.0], [1.0, x, y, 1.0]])
    return math.sqrt(max(float(row @ tie.covariance @ row) for row in rows) + 0.0)


class NextReading(NamedTuple):
    """A place to read next.

    Attributes:
        face: A or B
        x: along the grain [mm]
        y: across [mm]
        narrows: by how much the promise may be expected to rise once it is read [mm]
    """

    face: Literal["A", "B"]
    x: float
    y: float
    narrows: float


def read_next(hidden: Hidden, planes: PlanePair, between: Between, n: int = 3) -> tuple[NextReading, ...]:
    """The next reading places that narrow the promise most, best first.

    For each place where the hidden surface may well decide the board, several heights that the gauge may show are tried: the
    draws are moved to what the reading would say (conditioning along the draws' own covariance), and the promise taken anew.
    The places after the first are chosen as if those before had been read.

    Args:
        hidden: draws of both faces
        planes: the tilt
        between: what the draws take at this tilt
        n: how many places
    """
    faces = [face for face in (hidden.face_a, hidden.face_b) if not face.finer]
    if not faces or n < 1 or not np.any(between.loss_a + between.loss_b):
        return ()
    lying = [_Lying.of(face, planes) for face in faces]
    chosen: list[NextReading] = []
    for _ in range(n):
        lows = [face.lows() for face in lying]
        before = float(np.quantile(sum(lows, np.zeros(len(lows[0]))), 0.05))
        best: tuple[float, int, int] | None = None
        for index, face in enumerate(lying):
            others = sum((low for k, low in enumerate(lows) if k != index), np.zeros(len(lows[0])))
            for node in face.candidates:
                rise = face.promise_after(int(node), others) - before
                if best is None or rise > best[0]:
                    best = (rise, index, int(node))
        if best is None:
            break
        rise, index, node = best
        face = lying[index]
        chosen.append(NextReading(face.face, float(face.x[node]), float(face.y[node]), max(rise / planes.slant, 0.0)))
        lying[index] = face.as_if_read(node)
    return tuple(chosen)


_TRIED_DRAWS = 160
_TRIED_HEIGHTS = 9
_TRIED_PLACES = 12


@dataclass(frozen=True)
class _Lying:
    """One face's draws at a tilt, kept only where they may be lowest."""

    face: Literal["A", "B"]
    x: Floats
    y: Floats
    smooth: Floats
    drop: Floats
    noise: float
    spacing: float
    candidates: tuple[int, ...]

    @classmethod
    def of(cls, hidden: HiddenFace, planes: PlanePair) -> _Lying:
        sign = 1.0 if hidden.face == "A" else -1.0
        smooth = (hidden.smooth - (sign * (planes.a * hidden.x + planes.b * hidden.y)).astype(np.float32))[
            :_TRIED_DRAWS
        ]
        drop = hidden.drop[:_TRIED_DRAWS]
        low = np.argpartition(smooth - drop, 4, axis=1)[:, :4]
        kept, counts = np.unique(low, return_counts=True)
        noise = hidden.gauge**2 + hidden.roughness**2
        first = _spread_out(
            hidden.x[kept], hidden.y[kept], np.where(kept < hidden.read.size, 0, counts), hidden.spacing
        )
        small = smooth[:, kept].astype(np.float64)
        here = hidden.x[kept], hidden.y[kept]
        return cls(hidden.face, *here, small, drop[:, kept].astype(np.float64), noise, hidden.spacing, first)

    def lows(self) -> Floats:
        """Lowest place, draw by draw, shape (draws,)."""
        return np.asarray((self.smooth - self.drop).min(axis=1), dtype=np.float64)

    def _gain(self, node: int) -> tuple[Floats, Floats]:
        """What one millimetre read at a node moves every node by, and what each draw's gauge would show there."""
        generator = np.random.default_rng(node)
        shown = self.smooth[:, node] + math.sqrt(self.noise) * generator.standard_normal(len(self.smooth))
        middle = self.smooth[:, node] - self.smooth[:, node].mean()
        covariance = middle @ (self.smooth - self.smooth.mean(axis=0)) / len(middle)
        return covariance / max(covariance[node] + self.noise, 1e-12), shown

    def promise_after(self, node: int, others: Floats) -> float:
        """Expected promise (5 % quantile of the lows' sum) once a node is read."""
        gain, shown = self._gain(node)
        base = self.smooth - self.drop - np.outer(shown, gain)
        heights = np.quantile(shown, (np.arange(_TRIED_HEIGHTS) + 0.5) / _TRIED_HEIGHTS)
        return float(np.mean([np.quantile((base + gain * height).min(axis=1) + others, 0.05) for height in heights]))

    def as_if_read(self, node: int) -> _Lying:
        """The draws once a node has shown what was expected there."""
        gain, shown = self._gain(node)
        smooth = self.smooth + np.outer(shown.mean() - shown, gain)
        away = np.hypot(self.x - self.x[node], self.y - self.y[node])
        left = tuple(k for k in self.candidates if away[k] > 0.5 * self.spacing)
        return replace(self, smooth=smooth, candidates=left)


def _spread_out(x: Floats, y: Floats, counts: NDArray[np.int_], spacing: float) -> tuple[int, ...]:
    """Nodes that are lowest most often, at least half a spacing apart."""
    chosen: list[int] = []
    for k in np.argsort(-counts, kind="stable"):
        if counts[k] == 0 or len(chosen) == _TRIED_PLACES:
            break
        if all(math.hypot(x[k] - x[j], y[k] - y[j]) > 0.5 * spacing for j in chosen):
            chosen.append(int(k))
    return tuple(chosen)
