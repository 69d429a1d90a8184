"""Frames against closed forms.

Portal sway and moments: Kleinlogel, Rahmenformeln (form N1 = k + 2, N2 = 6 k + 1; from memory, confirmed by slope deflection);
beams, cantilevers and shear: Gere and Timoshenko, Mechanics of Materials (from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from slabwright.base.frame import (
    Beam,
    Frame,
    Joint,
    UnstableFrameError,
    along_loads,
    assemble,
    end_forces,
    energies,
    greatest_moments,
    hold,
    joint_forces,
)
from slabwright.geometry.faces import Floats

E, G = 210_000.0, 81_000.0
COLUMN, RAIL = 19.5e4, 43.6e4
HEIGHT, SPAN, PUSH = 700.0, 1600.0, 450.0
STIFF = 1e9


def beam(
    first: int,
    last: int,
    second: float,
    *,
    area: float = STIFF,
    shear: float = math.inf,
    pinned: tuple[bool, bool] = (False, False),
) -> Beam:
    return Beam(
        name=f"{first}-{last}",
        part="frame",
        first=first,
        last=last,
        area=area,
        second_y=second,
        second_z=second,
        torsion=second,
        shear_y=shear,
        shear_z=shear,
        modulus=E,
        shear_modulus=G,
        pinned=pinned,
    )


def portal(area: float = STIFF, shear: float = math.inf) -> Frame:
    nodes = np.array([[0.0, 0, 0], [0, 0, HEIGHT], [SPAN, 0, HEIGHT], [SPAN, 0, 0]])
    members = [beam(a, b, i, area=area, shear=shear) for a, b, i in ((0, 1, COLUMN), (1, 2, RAIL), (2, 3, COLUMN))]
    return Frame(nodes, tuple(members))


def pushed(frame: Frame, fixed: bool) -> tuple[float, Floats]:
    """Sway under a push at the rail, and end forces."""
    done = assemble(frame)
    held = [6 * node + way for node in (0, 3) for way in (range(6) if fixed else (0, 1, 2, 3, 5))]
    forces = np.zeros(24)
    forces[[6, 12]] = PUSH / 2.0
    motions = hold(done, held).motions(forces)
    return float(motions[6] + motions[12]) / 2.0, end_forces(done, motions)


K = RAIL * HEIGHT / (COLUMN * SPAN)


def test_portal_with_fixed_feet() -> None:
    sway, ends = pushed(portal(), fixed=True)
    assert sway == pytest.approx(PUSH * HEIGHT**3 / (12 * E * COLUMN) * (3 * K + 2) / (6 * K + 1), rel=1e-4)
    assert sway == pytest.approx(0.2256403, rel=1e-4)
    assert abs(ends[0, 4]) == pytest.approx(PUSH * HEIGHT / 2 * (3 * K + 1) / (6 * K + 1), rel=1e-4)
    assert abs(ends[0, 10]) == pytest.approx(67_285.834, rel=1e-4)


def test_portal_with_pinned_feet() -> None:
    sway, ends = pushed(portal(), fixed=False)
    assert sway == pytest.approx(PUSH * HEIGHT**2 / (12 * E) * (2 * HEIGHT / COLUMN + SPAN / RAIL), rel=1e-4)
    assert sway == pytest.approx(0.9493061, rel=1e-4)
    assert abs(ends[0, 10]) == pytest.approx(PUSH * HEIGHT / 2, rel=1e-4)
    assert abs(ends[0, 4]) < 1.0


def test_share_of_shear_in_a_portal_comes_on_top() -> None:
    """Unit loads: shear adds the sum of V² L / (G A_s) over the members, with V = P/2 in columns and P h/L in the rail."""
    shear = 300.0
    thin = pushed(portal(shear=shear), fixed=False)[0] - pushed(portal(), fixed=False)[0]
    by_hand = (2 * (PUSH / 2) ** 2 * HEIGHT + (PUSH * HEIGHT / SPAN) ** 2 * SPAN) / (G * shear) / PUSH
    assert thin == pytest.approx(by_hand, rel=1e-3)


def test_share_of_stretching_in_a_portal_comes_on_top() -> None:
    """Unit loads: stretching adds the sum of N² L / (E A); pinned columns carry P h/L, the rail nothing."""
    area = 400.0
    more = pushed(portal(area=area), fixed=False)[0] - pushed(portal(), fixed=False)[0]
    by_hand = 2 * (PUSH * HEIGHT / SPAN) ** 2 * HEIGHT / (E * area) / PUSH
    assert more == pytest.approx(by_hand, rel=5e-3)


def test_portal_under_an_even_load() -> None:
    """Knee moment q L² / (4 (2 k + 3)) of a portal on pinned feet (Kleinlogel)."""
    done = assemble(portal())
    load = 2.0
    nodes, own = along_loads(done, np.array([[0.0, 0, 0], [0, 0, -load], [0, 0, 0]]))
    motions = hold(done, [6 * node + way for node in (0, 3) for way in (0, 1, 2, 3, 5)]).motions(nodes)
    ends = end_forces(done, motions, own)
    knee = load * SPAN**2 / (4 * (2 * K + 3))
    assert abs(ends[0, 10]) == pytest.approx(knee, rel=1e-3)
    most = greatest_moments(ends, done.lengths, np.array([[0.0, 0.0], [0.0, -load], [0.0, 0.0]]))
    assert most[1, 0] == pytest.approx(load * SPAN**2 / 8 - knee, rel=1e-3)


def line(places: list[float], second: float = COLUMN, shear: float = math.inf, pinned: bool = False) -> Frame:
    nodes = np.array([[x, 0.0, 0.0] for x in places])
    members = [
        beam(a, a + 1, second, shear=shear, pinned=(pinned and a == 0, pinned and a == len(places) - 2))
        for a in range(len(places) - 1)
    ]
    return Frame(nodes, tuple(members))


@pytest.mark.parametrize("way", [1, 2])
@pytest.mark.parametrize("shear", [math.inf, 250.0])
def test_cantilever(way: int, shear: float) -> None:
    done = assemble(line([0.0, 900.0], shear=shear))
    forces = np.zeros(12)
    forces[6 + way] = 100.0
    sag = hold(done, range(6)).motions(forces)[6 + way]
    assert sag == pytest.approx(100 * 900**3 / (3 * E * COLUMN) + 100 * 900 / (G * shear), rel=1e-9)


@pytest.mark.parametrize("pinned_ends", [False, True])
def test_simply_supported(pinned_ends: bool) -> None:
    """5 q L⁴ / (384 E I) and q L² / 8; whether the supports or the member's own ends are free to turn."""
    done = assemble(line([0.0, 600.0, 1200.0], pinned=pinned_ends))
    load = -1.5
    nodes, own = along_loads(done, np.full((2, 3), [0.0, 0.0, load]))
    held = [0, 1, 2, 3, 12, 13, 14] if not pinned_ends else [*range(6), *range(12, 18)]
    motions = hold(done, held).motions(nodes)
    assert motions[8] == pytest.approx(5 * load * 1200**4 / (384 * E * COLUMN), rel=1e-6)
    ends = end_forces(done, motions, own)
    assert abs(ends[0, 10]) == pytest.approx(1.5 * 1200**2 / 8, rel=1e-6)
    if pinned_ends:
        assert abs(ends[0, 4]) < 1e-6


def test_overhanging_beam() -> None:
    """Load P on an overhang a beyond a span L: P a² (L + a) / (3 E I) at the tip; the far support pulls with P a / L."""
    done = assemble(line([0.0, 1000.0, 1300.0]))
    forces = np.zeros(18)
    forces[14] = -200.0
    motions = hold(done, [0, 1, 2, 3, 7, 8]).motions(forces)
    assert motions[14] == pytest.approx(-200 * 300**2 * 1300 / (3 * E * COLUMN), rel=1e-9)
    assert (done.stiffness @ motions)[2] == pytest.approx(-200 * 300 / 1000, rel=1e-9)


def test_twist_and_pull() -> None:
    done = assemble(line([0.0, 800.0]))
    forces = np.zeros(12)
    forces[9], forces[6] = 5e4, 1e4
    motions = hold(done, range(6)).motions(forces)
    assert motions[9] == pytest.approx(5e4 * 800 / (G * COLUMN), rel=1e-9)
    assert motions[6] == pytest.approx(1e4 * 800 / (E * STIFF), rel=1e-9)


def test_square_loop_pulled_apart() -> None:
    """A square closed loop of even section, pulled at the middles of two opposite sides.

    By symmetry and unit loads: the loaded side's middle moves from the other's by 5 P a³ / (192 E I), corners carry P a / 16.
    """
    side = 500.0
    h = side / 2
    corners = np.array([[-h, 0, -h], [0, 0, -h], [h, 0, -h], [h, 0, h], [0, 0, h], [-h, 0, h]])
    members = tuple(beam(a, (a + 1) % 6, COLUMN) for a in range(6))
    done = assemble(Frame(corners, members))
    forces = np.zeros(36)
    forces[4 * 6 + 2] = 100.0
    motions = hold(done, [6, 7, 8, 9, 10, 11]).motions(forces)
    ends = end_forces(done, motions)
    assert abs(ends[2, 4]) == pytest.approx(100 * side / 16, rel=1e-4)
    # The two loaded sides: fixed-ended P a³/192 each plus the turn of their corners; the upright sides bend evenly.
    assert motions[26] == pytest.approx(5 * 100 * side**3 / (192 * E * COLUMN), rel=1e-4)


def test_two_bolts_share_a_moment_by_their_distance() -> None:
    """Moment M on a group of two bolts at distance s: each pulls M / s, and it turns by 2 M / (k s²)."""
    nodes = np.array([[0.0, 0, 0], [0.0, 0, 10.0]])
    k, s = 5000.0, 120.0
    joints = tuple(
        Joint(f"bolt {side}", "bolts", 0, 1, (side * s / 2, 0.0, 5.0), (k, k, k, 1e4, 0.0, 1e4)) for side in (-1, 1)
    )
    done = assemble(Frame(nodes, (), joints))
    forces = np.zeros(12)
    forces[10] = 3e5
    motions = hold(done, range(6)).motions(forces)
    assert motions[10] == pytest.approx(2 * 3e5 / (k * s**2), rel=1e-9)
    assert sorted(joint_forces(done, motions)[:, 2]) == pytest.approx([-3e5 / s, 3e5 / s], rel=1e-9)


def test_work_done_is_taken_up_by_the_parts() -> None:
    """Clapeyron: half the load times its way is the sum of what the members took up."""
    frame = portal(area=500.0, shear=200.0)
    done = assemble(frame)
    forces = np.zeros(24)
    forces[[6, 12]] = PUSH / 2.0
    motions = hold(done, [6 * node + way for node in (0, 3) for way in range(6)]).motions(forces)
    members, _ = energies(done, motions)
    assert members.sum() == pytest.approx(0.5 * forces @ motions, rel=1e-9)


def test_a_frame_that_folds_is_named() -> None:
    nodes = np.array([[0.0, 0, 0], [0, 0, HEIGHT], [SPAN, 0, HEIGHT], [SPAN, 0, 0]])
    members = tuple(
        beam(a, b, COLUMN, pinned=pins)
        for a, b, pins in ((0, 1, (True, True)), (1, 2, (False, False)), (2, 3, (True, True)))
    )
    done = assemble(Frame(nodes, members))
    with pytest.raises(UnstableFrameError) as fault:
        hold(done, [*range(6), *range(18, 24), 7, 9, 13])
    assert fault.value.node in (1, 2)
    assert fault.value.way == "along"
