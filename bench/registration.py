"""Locating: what is predicted against simulated touch-offs, and how often a go is wrong."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from bench.row import Row
from slabwright.geometry.faces import Floats
from slabwright.geometry.touches import Equations, covariance_at, lies, radius_within
from slabwright.job.top_models import Datum
from slabwright.machine.located import DatumKind
from slabwright.machine.registration import locate

TOUCH_OFFS = 10_000
"""Simulated for each layout."""
GO_CASES = 6_000
MACHINE = 0.05
"""The machine's own error, 99 % [mm]."""
_ROUND = math.sqrt(-2.0 * math.log(0.01))
"""99 % radius of round errors, in standard errors per axis."""
_FEATURES = {"pocket": (320.0, -180.0), "outlet": (900.0, 0.0), "insert": (1500.0, 240.0), "key": (60.0, 20.0)}

Place = tuple[DatumKind, float, float, float]
"""Kind, x, y in the drawing, standard error of the touch [mm]."""
LAYOUTS: dict[str, tuple[Place, ...]] = {
    "4 points": (
        ("point", 0.0, -300.0, 0.05),
        ("point", 1600.0, -300.0, 0.05),
        ("point", 1600.0, 300.0, 0.05),
        ("point", 0.0, 300.0, 0.05),
    ),
    "3 points, unequal errors": (
        ("point", 100.0, -250.0, 0.03),
        ("point", 1500.0, -200.0, 0.1),
        ("point", 700.0, 260.0, 0.06),
    ),
    "2 edges along, 1 across": (
        ("edge along", 200.0, -300.0, 0.05),
        ("edge along", 1400.0, -300.0, 0.05),
        ("edge across", 0.0, 60.0, 0.05),
    ),
    "6 edges": (
        ("edge along", 150.0, -300.0, 0.08),
        ("edge along", 1450.0, -300.0, 0.08),
        ("edge along", 800.0, 300.0, 0.08),
        ("edge across", 0.0, -200.0, 0.04),
        ("edge across", 0.0, 200.0, 0.04),
        ("edge across", 1600.0, 0.0, 0.04),
    ),
    "a corner and 2 edges": (
        ("point", 0.0, -300.0, 0.05),
        ("edge along", 1500.0, -300.0, 0.05),
        ("edge across", 0.0, 280.0, 0.1),
    ),
    "2 holes and 3 edges": (
        ("point", 200.0, -150.0, 0.02),
        ("point", 1300.0, 180.0, 0.02),
        ("edge along", 300.0, 300.0, 0.1),
        ("edge along", 1300.0, 300.0, 0.1),
        ("edge across", 1600.0, 100.0, 0.1),
    ),
}


@dataclass(frozen=True)
class Seen:
    """Of one layout: errors seen over errors predicted.

    Attributes:
        ratio: root mean square over all features
        worst: of the feature that differs most
        beyond: share of the errors beyond their 99 % radius, the greatest of the features
    """

    ratio: float
    worst: float
    beyond: float


def turned(points: Floats, turn: Floats) -> Floats:
    cos, sin = np.cos(turn), np.sin(turn)
    return np.stack((cos * points[..., 0] - sin * points[..., 1], sin * points[..., 0] + cos * points[..., 1]), axis=-1)


def datums(layout: tuple[Place, ...], touched: Floats) -> list[Datum]:
    return [
        Datum(name=f"place {index}", kind=kind, stated=(x, y), touched=tuple(found), error=error)
        for index, ((kind, x, y, error), found) in enumerate(zip(layout, touched.tolist(), strict=True))
    ]


def touch_offs(layout: tuple[Place, ...], count: int, draw: np.random.Generator) -> tuple[Floats, Floats, Floats]:
    """The true turn (k,) and shift (k, 2) of pieces laid anyhow, and where the machine finds them, (k, n, 2)."""
    turn = draw.uniform(-math.pi, math.pi, count)
    shift = draw.uniform(-500.0, 500.0, (count, 2))
    stated = np.array([place[1:3] for place in layout])
    error = np.array([place[3] for place in layout])
    true = turned(stated[None], turn[:, None]) + shift[:, None]
    return turn, shift, true + draw.normal(size=true.shape) * error[None, :, None]


def errors(layout: tuple[Place, ...], seed: int) -> tuple[Floats, Floats]:
    """Errors of the features by fits of simulated touch-offs, (k, features, 2), and the covariance from the drawing alone."""
    turn, shift, touched = touch_offs(layout, TOUCH_OFFS, np.random.default_rng((seed, 11)))
    pairs = [(index, axis) for index, place in enumerate(layout) for axis in _axes(place[0])]
    owner, axis = np.array([pair[0] for pair in pairs]), np.array([pair[1] for pair in pairs])
    stated = np.array([place[1:3] for place in layout])
    error = np.array([place[3] for place in layout])
    equations = Equations(axis, stated[owner, axis], error[owner])
    best, other = lies(equations, touched[:, owner])
    # Edges alone fit end for end too: which of the two it is, is told by where along them they were touched.
    apart = [_apart(lie.turn, lie.shift, touched, stated) for lie in (best, other)]
    swap = ~np.isnan(other.turn) & (apart[1] < apart[0])
    found_turn = np.where(swap, other.turn, best.turn)
    found_shift = np.where(swap[:, None], other.shift, best.shift)
    drawn = np.array(list(_FEATURES.values()))
    true = turned(drawn[None], turn[:, None]) + shift[:, None]
    off = turned(drawn[None], found_turn[:, None]) + found_shift[:, None] - true
    return off, locate(datums(layout, stated), {}, face_up="show").covariance


def seen(layout: tuple[Place, ...], seed: int) -> Seen:
    """Errors of the fits of simulated touch-offs, against one prediction from the drawing."""
    off, predicted = errors(layout, seed)
    around = covariance_at(predicted, np.array(list(_FEATURES.values())))
    squares = (off**2).sum(axis=2)
    wanted = np.trace(around, axis1=1, axis2=2)
    each = np.sqrt(squares.mean(axis=0) / wanted)
    return Seen(
        math.sqrt(float(squares.mean() / wanted.mean())),
        float(each[np.argmax(np.abs(each - 1.0))]),
        float((np.sqrt(squares) > radius_within(around)).mean(axis=0).max()),
    )


def _axes(kind: DatumKind) -> tuple[int, ...]:
    return {"point": (0, 1), "edge along": (1,), "edge across": (0,)}[kind]


def _apart(turn: Floats, shift: Floats, touched: Floats, stated: Floats) -> Floats:
    back = turned(touched - shift[:, None], -turn[:, None])
    return np.asarray(((back - stated) ** 2).sum(axis=(1, 2)))


def go_cases(count: int) -> tuple[int, int]:
    """How many of random cases were let go, and how many of these had a feature farther off than its room.

    Rooms are drawn about what each feature needs, so that many cases are close; the machine's own error is drawn as well.
    """
    draw = np.random.default_rng(23)
    let_go, wrong = 0, 0
    drawn = np.array(list(_FEATURES.values()))
    exact = [locate(datums(one, np.array([place[1:3] for place in one])), {}) for one in LAYOUTS.values()]
    needed = [one.radius_at(drawn) for one in exact]
    layouts = list(LAYOUTS.values())
    for _ in range(count):
        which = int(draw.integers(len(layouts)))
        turn, shift, touched = touch_offs(layouts[which], 1, draw)
        machine = float(draw.choice([0.0, MACHINE]))
        rooms = (needed[which] + machine) * draw.uniform(0.9, 1.4, len(drawn))
        features = {name: (x, y, float(room)) for (name, (x, y)), room in zip(_FEATURES.items(), rooms, strict=True)}
        located = locate(datums(layouts[which], touched[0]), features, machine_error=machine)
        if not located.go:
            continue
        let_go += 1
        off = located.to_machine(drawn) + draw.normal(0.0, 1.0, drawn.shape) * machine / _ROUND
        off -= turned(drawn, turn) + shift
        wrong += bool((np.hypot(*off.T) > rooms).any())
    return let_go, wrong


def close_cases() -> tuple[str, float]:
    """The layout and feature whose go is wrong most often where the room is just what is asked for."""
    worst = ("", 0.0)
    for number, (name, layout) in enumerate(LAYOUTS.items()):
        draw = np.random.default_rng((number, 5))
        off, predicted = errors(layout, number)
        radius = radius_within(covariance_at(predicted, np.array(list(_FEATURES.values()))))
        off = off + draw.normal(0.0, MACHINE / _ROUND, off.shape)
        shares = (np.hypot(off[..., 0], off[..., 1]) > radius + MACHINE).mean(axis=0)
        if shares.max() > worst[1]:
            worst = (f"{name}, {list(_FEATURES)[int(shares.argmax())]}", float(shares.max()))
    return worst


def rows() -> Iterator[Row]:
    for number, (name, layout) in enumerate(LAYOUTS.items()):
        found = seen(layout, number)
        yield Row(
            f"error at the features, {name}",
            f"{found.ratio:.4f} of the predicted",
            f"{TOUCH_OFFS:,} simulated touch-offs",
            found.ratio,
            "within 2 %",
            abs(found.ratio - 1.0) <= 0.02,
            f"the feature that differs most: {found.worst:.4f}; beyond its 99 % radius at most {100 * found.beyond:.2f} %",
        )
    let_go, wrong = go_cases(GO_CASES)
    yield Row(
        "a go that is wrong, rooms about what is needed",
        f"{100.0 * wrong / let_go:.2f} %",
        f"{let_go:,} let go of {GO_CASES:,}",
        wrong / let_go / 0.01,
        "at most 1 %",
        wrong <= 0.01 * let_go,
        "any of four features out of its room, the machine's own error drawn too or none",
    )
    name, share = close_cases()
    yield Row(
        "a go that is wrong, rooms just as asked for",
        f"{100.0 * share:.2f} %",
        f"{TOUCH_OFFS:,} for each layout and feature",
        share / 0.01,
        "at most 1 %",
        share <= 0.01,
        f"the worst layout: {name}",
    )
