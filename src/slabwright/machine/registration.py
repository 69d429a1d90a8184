"""Locating: from touched-off places to turn and shift, the error at every feature, and go or no-go.

A point gives two equations, an edge one: general weighted least squares. Not the root mean square but the 99 % error and the
machine's own are held against each feature's room, for the root mean square is exceeded a third of the time.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats
from slabwright.geometry.touches import Equations, Lie, chance_outside, covariance_at, design, lies, radius_within
from slabwright.machine.datum_checks import (
    FeaturePlace,
    RegistrationError,
    Touched,
    check_enough,
    check_not_in_line,
    check_stated,
    place_of,
)
from slabwright.machine.located import AddedDatum, DatumKind, DatumOff, FaceUp, FeatureError, Located

__all__ = ["MISS", "ODD", "Candidate", "FeaturePlace", "RegistrationError", "Touched", "locate"]

MISS = 0.01
"""Chance of a miss that a go may leave."""
ODD = 1e-3
"""Chance that sound touches are called odd."""
_NO_NOISE = 30.0
_NO_FIT = 1e4
"""Sum of squares, for each spare equation, that no error of touching explains."""
_AXES: dict[DatumKind, tuple[int, ...]] = {"point": (0, 1), "edge along": (1,), "edge across": (0,)}


@dataclass(frozen=True)
class Candidate:
    """A place that could be touched as well, in the drawing [mm]."""

    name: str
    kind: DatumKind
    x: float
    y: float


def locate(
    datums: Sequence[Touched],
    features: Mapping[str, FeaturePlace | tuple[float, float, float]],
    *,
    machine_error: float = 0.05,
    face_up: FaceUp = "show",
    candidates: Sequence[Candidate] = (),
) -> Located:
    """How the piece lies on the machine, from touched-off places.

    Machine = R(turn) piece + shift. Each touch gives equations in the piece's coordinates of the touched place, solved for the
    least sum of (off / error)^2 [1]_. With A the change of the equations with turn and shift and W = 1 / error^2, the
    covariance is C = (A' W A)^-1, and J C J' at a feature. For N points of equal error s about their centroid the trace of that
    is 2 s^2 / N + s^2 r^2 / sum(r_i^2). Where the sum of squares is greater than 99 of 100 sound layouts have, C is raised by
    it over the spare equations. A touch is odd where what leaving it out takes off the sum is beyond chance [2]_.

    Args:
        datums: touched places; the drawing's places as seen from the show face
        features: by name, (x, y, clearance) or a `FeaturePlace`, in the drawing [mm]
        machine_error: of the machine's own positioning, 99 % [mm]
        face_up: the face that is up; with the underside up the drawing's y runs the other way
        candidates: places that could be touched as well, to be tried

    Raises:
        RegistrationError: a place stated twice, figures that are no numbers, too few touches, touches that do not fix the turn
            or a shift, all nearly in a line, or that fit only the mirrored drawing

    References:
        .. [1] Mikhail, Observations and Least Squares, 1976, chapters 4 and 9 (from memory).
        .. [2] Baarda, A Testing Procedure for Use in Geodetic Networks, Netherlands Geodetic Commission, 1968 (from memory).
    """
    check_stated(datums, features, machine_error)
    owner = np.array([index for index, datum in enumerate(datums) for _ in _AXES[datum.kind]], dtype=np.intp)
    axis = np.array([one for datum in datums for one in _AXES[datum.kind]], dtype=np.intp)
    check_enough(datums, axis)
    touched = np.array([datum.touched for datum in datums], dtype=np.float64)
    side = np.array((1.0, -1.0 if face_up == "underside" else 1.0))
    stated = np.array([datum.stated for datum in datums], dtype=np.float64) * side
    error = np.array([datum.error for datum in datums], dtype=np.float64)[owner]
    check_not_in_line(touched)
    equations = Equations(axis, stated[owner, axis], error)
    lie = _the_lie(equations, stated, touched, owner, [datum.name for datum in datums])
    turn, shift = float(lie.turn[0]), lie.shift[0]
    at = _to_piece(touched, turn, shift)
    rows = design(axis, at[owner]) / error[:, None]
    covariance = _covariance(rows, at)
    off = lie.off[0]
    spare = len(axis) - 3
    odd, spread = _odd_ones(off / error, rows, covariance, owner, len(datums))
    if len(odd) == 1:
        # What it is off by as the others have it, not what is left after it has drawn the fit to itself.
        mine = owner == next(iter(odd))
        free = np.eye(int(mine.sum())) - rows[mine] @ covariance @ rows[mine].T
        off = off.copy()
        off[mine] = np.linalg.pinv(free, rcond=1e-6, hermitian=True) @ (off[mine] / error[mine]) * error[mine]
    scale = _scale(float(lie.squares[0]), spare)
    covariance = covariance * scale**2
    places = {name: place_of(value) for name, value in features.items()}
    errors = _feature_errors(places, covariance, turn, shift, side, machine_error)
    chance = _chance_out(places, covariance, side, machine_error)
    go = not odd and all(one.go for one in errors) and chance <= MISS
    return Located(
        face_up=face_up,
        turn=math.degrees(turn),
        turn_error=math.degrees(math.sqrt(covariance[0, 0])),
        shift_x=float(shift[0]),
        shift_y=float(shift[1]),
        datums=tuple(_datum_offs(datums, owner, axis, off * side[axis], spread * error, spare, odd)),
        spare=spare,
        scale=scale,
        features=errors,
        chance_out=chance,
        go=go,
        add=_best_addition(candidates, places, covariance, side, float(np.median(error)) * scale, machine_error),
        machine_error=machine_error,
        covariance=covariance,
    )


def _to_piece(places: Floats, turn: float, shift: Floats) -> Floats:
    cos, sin = math.cos(turn), math.sin(turn)
    return np.asarray((places - shift) @ np.array([(cos, -sin), (sin, cos)]))


def _the_lie(
    equations: Equations, stated: Floats, touched: Floats, owner: NDArray[np.intp], names: Sequence[str]
) -> Lie:
    """The turn and shift, of up to two as given and two mirrored, that fit the touches and where they were stated.

    Edges alone fit as well end for end, or mirrored: then where along them they were touched decides.
    """
    flipped = Equations(
        equations.axis, np.where(equations.axis == 1, -equations.stated, equations.stated), equations.error
    )
    found: list[tuple[float, float, bool, Lie]] = []
    for mirrored, these, drawn in ((False, equations, stated), (True, flipped, stated * (1.0, -1.0))):
        for lie in lies(these, touched[None, owner]):
            if math.isfinite(lie.turn[0]):
                back = _to_piece(touched, float(lie.turn[0]), lie.shift[0])
                apart = float(np.sqrt(((back - drawn) ** 2).sum(axis=1).mean()))
                found.append((float(lie.squares[0]), apart, mirrored, lie))
    spare = max(len(equations.axis) - 3, 1)
    # Stated errors may be too small: what counts as a clear difference grows with what the best one is off by.
    least = min(squares for squares, *_ in found)
    clear = least + _NO_NOISE * max(1.0, least / spare)
    near = sorted((one for one in found if one[0] <= clear), key=lambda one: one[1])
    _, apart, mirrored, best = near[0]
    if len(near) > 1 and not apart < 0.5 * near[1][1]:
        if least > _NO_FIT * spare:
            raise RegistrationError(_fits_in_no_way(equations, touched, owner, least, spare, names))
        raise RegistrationError(
            "top.datums: these touches fit the top laid in two ways; state for each edge where along it it was touched, and "
            "touch a corner or a hole as well"
        )
    if mirrored:
        raise RegistrationError(
            "top.datums: the touches fit the top only mirrored; the other face is up, or an axis is read the wrong way, or two "
            "places are exchanged"
        )
    return best


def _fits_in_no_way(
    equations: Equations, touched: Floats, owner: NDArray[np.intp], least: float, spare: int, names: Sequence[str]
) -> str:
    """What to say of touches that fit neither way round; exchanged ones are found by trying."""
    for one in range(len(names)):
        for other in range(one):
            order = np.arange(len(names))
            order[[one, other]] = order[[other, one]]
            best, _ = lies(equations, touched[None, order[owner]])
            if float(best.squares[0]) < min(1e-3 * least, _NO_FIT * spare):
                return (
                    f"top.datums: the touches fit the drawing only with '{names[other]}' and '{names[one]}' exchanged; state "
                    "for each place where the machine found it"
                )
    return (
        "top.datums: the touches fit the drawing in no way; look through stated and touched of each place, and whether both are "
        "in the same units"
    )


def _covariance(rows: Floats, at: Floats) -> Floats:
    """C = (A' A)^-1 of weighted equations, worked out about the middle of the touched places."""
    middle = at.mean(axis=0)
    reach = float(np.hypot(*(at - middle).T).max())
    # About the middle: turn rows lose what a shift does as well; the turn counted at the reach.
    local = rows.copy()
    local[:, 0] += rows[:, 1] * middle[1] - rows[:, 2] * middle[0]
    local[:, 0] /= reach
    information = local.T @ local
    values = np.linalg.eigvalsh(information)
    if values[0] < 1e-6 * values[-1]:
        raise RegistrationError(
            "top.datums: these touches do not fix the turn of the top; touch two places far apart along the same edge, or "
            "holes far apart"
        )
    inverse = np.linalg.inv(information)
    inverse[0, :] /= reach
    inverse[:, 0] /= reach
    # Back to turn and shift at the origin: the shift there is the middle's less what the turn moves it.
    back = np.array([(1.0, 0.0, 0.0), (middle[1], 1.0, 0.0), (-middle[0], 0.0, 1.0)])
    return np.asarray(back @ inverse @ back.T)


def _odd_ones(
    off: Floats, rows: Floats, covariance: Floats, owner: NDArray[np.intp], count: int
) -> tuple[frozenset[int], Floats]:
    """Datums that do not agree with the others, and the spread of each equation's off once fitted, in its errors.

    Args:
        off: of each equation, in its errors, shape (n,)
        rows: of the design, in the errors, shape (n, 3)
        covariance: of turn and shift
        owner: datum of each equation
        count: of datums
    """
    free = np.eye(len(off)) - rows @ covariance @ rows.T
    spread = np.sqrt(np.clip(np.diag(free), 0.0, 1.0))
    if len(off) <= 3:
        return frozenset(), spread
    from scipy.special import chdtrc

    total = float(off @ off)
    taken, chances, rest = np.zeros(count), np.ones(count), np.zeros(count)
    for index in range(count):
        mine = owner == index
        block = free[np.ix_(mine, mine)]
        freedom = int(np.linalg.matrix_rank(block, tol=1e-6))
        if freedom:
            taken[index] = float(off[mine] @ np.linalg.pinv(block, rcond=1e-6, hermitian=True) @ off[mine])
            chances[index] = float(chdtrc(freedom, taken[index]))
        left = len(off) - 3 - freedom
        rest[index] = float(chdtrc(left, max(total - taken[index], 0.0))) if left > 0 else 1.0
    if chances.min() * count >= ODD:
        return frozenset(), spread
    # All whose leaving out would settle it: with few spare touches it may not be clear which one is wrong.
    settle = np.flatnonzero((rest > MISS) & (chances * count < ODD))
    return frozenset(settle.tolist()) or frozenset({int(np.argmax(taken))}), spread


def _scale(squares: float, spare: int) -> float:
    """By which the stated errors are raised: 1 where the touches disagree no more than these allow."""
    if spare <= 0:
        return 1.0
    from scipy.special import chdtri

    return math.sqrt(squares / spare) if squares > float(chdtri(spare, MISS)) else 1.0


def _datum_offs(
    datums: Sequence[Touched],
    owner: NDArray[np.intp],
    axis: NDArray[np.intp],
    off: Floats,
    spread: Floats,
    spare: int,
    odd: frozenset[int],
) -> list[DatumOff]:
    told = []
    for index, datum in enumerate(datums):
        along = off[(owner == index) & (axis == 0)]
        across = off[(owner == index) & (axis == 1)]
        most = 2.5758293 * float(spread[owner == index].max())
        told.append(
            DatumOff(
                name=datum.name,
                kind=datum.kind,
                off_along=float(along[0]) if along.size else None,
                off_across=float(across[0]) if across.size else None,
                off_most=most if spare > 0 else None,
                odd=index in odd,
            )
        )
    return told


def _points(place: FeaturePlace, side: Floats) -> Floats:
    return np.array([(place.x, place.y), *place.corners], dtype=np.float64) * side


def _feature_errors(
    places: Mapping[str, FeaturePlace],
    covariance: Floats,
    turn: float,
    shift: Floats,
    side: Floats,
    machine_error: float,
) -> tuple[FeatureError, ...]:
    if not places:
        return ()
    points = [_points(place, side) for place in places.values()]
    around = covariance_at(covariance, np.concatenate(points))
    radii = radius_within(around)
    starts = np.cumsum([0, *map(len, points)])[:-1]
    worst = np.maximum.reduceat(radii, starts)
    cos, sin = math.cos(turn), math.sin(turn)
    told = []
    for index, (name, place) in enumerate(places.items()):
        x, y = points[index][0]
        spread = np.sqrt(np.diag(around[starts[index]]))
        most = float(worst[index]) + machine_error
        told.append(
            FeatureError(
                name=name,
                x=float(cos * x - sin * y + shift[0]),
                y=float(sin * x + cos * y + shift[1]),
                error_along=float(spread[0]),
                error_across=float(spread[1]),
                radius=float(worst[index]),
                most=most,
                clearance=place.clearance,
                go=most <= place.clearance,
            )
        )
    return tuple(told)


def _chance_out(places: Mapping[str, FeaturePlace], covariance: Floats, side: Floats, machine_error: float) -> float:
    if not places:
        return 0.0
    points = [_points(place, side) for place in places.values()]
    limits = np.repeat([place.clearance - machine_error for place in places.values()], [len(one) for one in points])
    return chance_outside(covariance, np.concatenate(points), limits)


def _best_addition(
    candidates: Sequence[Candidate],
    places: Mapping[str, FeaturePlace],
    covariance: Floats,
    side: Floats,
    error: float,
    machine_error: float,
) -> AddedDatum | None:
    """The candidate with which the worst feature's error takes the least share of its room."""
    if not (candidates and places):
        return None
    points = [_points(place, side) for place in places.values()]
    all_points = np.concatenate(points)
    rooms = np.repeat([place.clearance for place in places.values()], [len(one) for one in points])
    best: tuple[float, float, Candidate, Floats] | None = None
    for candidate in candidates:
        axis = np.array(_AXES[candidate.kind], dtype=np.intp)
        at = np.repeat(np.array([(candidate.x, candidate.y)]) * side, len(axis), axis=0)
        rows = design(axis, at)
        # One more touch: C - C A' (s^2 + A C A')^-1 A C
        gain = covariance @ rows.T
        with_it = covariance - gain @ np.linalg.solve(error**2 * np.eye(len(axis)) + rows @ gain, gain.T)
        most = radius_within(covariance_at(with_it, all_points)) + machine_error
        share = float((most / np.maximum(rooms, 1e-9)).max())
        if best is None or share < best[0] * (1.0 - 1e-9):
            best = (share, float(most.max()), candidate, with_it)
    assert best is not None
    share, most_of_all, candidate, with_it = best
    go = share <= 1.0 and _chance_out(places, with_it, side, machine_error) <= MISS
    return AddedDatum(candidate.name, candidate.kind, candidate.x, candidate.y, most_of_all, go)
