"""A frame in space: straight beams that meet in nodes, elastic joints between nodes, and what stands on the floor.

Own code rather than a library: every figure of a base follows from one stiffness matrix within milliseconds, a share of it can
be told for each part, and a frame that would fold up is named by the node that moves.

References:
    .. [1] J. S. Przemieniecki, Theory of Matrix Structural Analysis (1968), chapter 5: beam element with shear (from memory;
       checked against closed forms)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats

Dofs = NDArray[np.intp]
_FOLDS = 1e-11
"""A pivot of the scaled stiffness below this belongs to a motion that nothing resists."""


class UnstableFrameError(SlabwrightError):
    """The frame would fold up or slide away.

    Attributes:
        node: number of the node that moves most
        way: how it moves: along, across, up and down, by leaning or by turning
    """

    def __init__(self, node: int, way: str) -> None:
        super().__init__(f"the frame is not held: node {node} moves {way} freely")
        self.node = node
        self.way = way


@dataclass(frozen=True)
class Beam:
    """A straight member; local x from first to last, local z in the plane of its axis and `up`, local y = z cross x.

    Attributes:
        name: as messages call it
        part: the part of the structure that it belongs to
        first: its node
        last: its other node
        area: [mm2]
        second_y: for bending along local z [mm4]
        second_z: for bending along local y [mm4]
        torsion: [mm4]
        shear_y: area that carries a force along local y [mm2]; infinite: no shear deflection
        shear_z: along local z [mm2]
        modulus: E [MPa]
        shear_modulus: G [MPa]
        up: direction that local z leans to
        pinned: ends whose bending is released
    """

    name: str
    part: str
    first: int
    last: int
    area: float
    second_y: float
    second_z: float
    torsion: float
    shear_y: float
    shear_z: float
    modulus: float
    shear_modulus: float
    up: tuple[float, float, float] = (0.0, 0.0, 1.0)
    pinned: tuple[bool, bool] = (False, False)


@dataclass(frozen=True)
class Joint:
    """An elastic joint at one place, held by rigid arms to two nodes.

    Attributes:
        name: as messages call it
        part: the part of the structure that it belongs to
        first: node of one side
        last: node of the other side
        at: the place [mm]
        stiffness: against sliding along x, y, z [N/mm] and turning about x, y, z [N mm]
    """

    name: str
    part: str
    first: int
    last: int
    at: tuple[float, float, float]
    stiffness: tuple[float, float, float, float, float, float]


@dataclass(frozen=True)
class Frame:
    """Nodes, shape (n, 3) [mm]; beams; joints; and soft or stiff springs to the ground, shape (n, 6)."""

    nodes: Floats
    beams: tuple[Beam, ...]
    joints: tuple[Joint, ...] = ()
    ground: Floats | None = None


@dataclass(frozen=True)
class Assembled:
    """A frame with its stiffness, global (6 n, 6 n), and that of each beam in its own axes."""

    frame: Frame
    stiffness: Floats
    own: Floats
    turns: Floats
    joint_arms: Floats
    lengths: Floats
    rows: Dofs
    idle: Dofs


def _turn(frame: Frame) -> tuple[Floats, Floats]:
    """Axes of every beam, shape (m, 3, 3), rows local x, y, z; and lengths."""
    ends = np.array([[beam.first, beam.last] for beam in frame.beams], dtype=np.intp).reshape(-1, 2)
    along = frame.nodes[ends[:, 1]] - frame.nodes[ends[:, 0]]
    lengths = np.linalg.norm(along, axis=1)
    for beam, length in zip(frame.beams, lengths, strict=True):
        if length < 1e-6:
            raise SlabwrightError(f"member {beam.name!r} has no length: its two nodes lie at the same place")
    along = along / lengths[:, None]
    up = np.array([beam.up for beam in frame.beams], dtype=float).reshape(-1, 3)
    across = np.cross(up, along)
    flat = np.linalg.norm(across, axis=1) < 1e-6
    if flat.any():  # it stands along `up`: its depth then lies along x, or along y where it runs along x
        instead = np.where(np.abs(along[flat, :1]) > 0.9, [[0.0, 1.0, 0.0]], [[1.0, 0.0, 0.0]])
        across[flat] = np.cross(instead, along[flat])
    across /= np.linalg.norm(across, axis=1)[:, None]
    return np.stack([along, across, np.cross(along, across)], axis=1), lengths


def _own_stiffness(frame: Frame, lengths: Floats) -> Floats:
    """Stiffness of every beam in its own axes, shape (m, 12, 12) [1]_."""
    k = np.zeros((len(frame.beams), 12, 12))
    area, second_y, second_z, torsion, shear_y, shear_z, modulus, shear_modulus = (
        np.array(
            [
                (
                    beam.area,
                    beam.second_y,
                    beam.second_z,
                    beam.torsion,
                    beam.shear_y,
                    beam.shear_z,
                    beam.modulus,
                    beam.shear_modulus,
                )
                for beam in frame.beams
            ],
            dtype=float,
        )
        .reshape(-1, 8)
        .T
    )
    for a, value in ((0, modulus * area / lengths), (3, shear_modulus * torsion / lengths)):
        k[:, a, a] = k[:, a + 6, a + 6] = value
        k[:, a, a + 6] = k[:, a + 6, a] = -value
    for second, shear, shift, turn, sign in ((second_z, shear_y, 1, 5, 1.0), (second_y, shear_z, 2, 4, -1.0)):
        phi = 12.0 * modulus * second / (shear_modulus * shear * lengths**2)
        bend = modulus * second / (lengths**3 * (1.0 + phi))
        cross = sign * 6.0 * bend * lengths
        near, far = (4.0 + phi) * bend * lengths**2, (2.0 - phi) * bend * lengths**2
        for row, values in (
            (shift, (12.0 * bend, cross, -12.0 * bend, cross)),
            (turn, (cross, near, -cross, far)),
            (shift + 6, (-12.0 * bend, -cross, 12.0 * bend, -cross)),
            (turn + 6, (cross, far, -cross, near)),
        ):
            for column, value in zip((shift, turn, shift + 6, turn + 6), values, strict=True):
                k[:, row, column] = value
    for number, beam in enumerate(frame.beams):
        for released in _released(beam):
            pivot = k[number, released, released]
            give = k[number, :, released].copy()
            k[number] -= np.outer(give, give) / pivot
    return k


def _released(beam: Beam) -> list[int]:
    return [turn for end, gone in enumerate(beam.pinned) if gone for turn in (4 + 6 * end, 5 + 6 * end)]


def _arms(frame: Frame) -> Floats:
    """Of every joint, shape (j, 6, 12): what the motions of its two nodes make of the gap at its place."""
    arms = np.zeros((len(frame.joints), 6, 12))
    for number, joint in enumerate(frame.joints):
        for side, node, sign in ((0, joint.first, -1.0), (6, joint.last, 1.0)):
            x, y, z = np.asarray(joint.at) - frame.nodes[node]
            arms[number, :, side : side + 6] = sign * np.eye(6)
            arms[number, :3, side + 3 : side + 6] = sign * np.array([[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]])
    return arms


def assemble(frame: Frame) -> Assembled:
    """Put the stiffness of a frame together.

    Raises:
        SlabwrightError: a member has no length.
    """
    axes, lengths = _turn(frame)
    own = _own_stiffness(frame, lengths)
    turns = np.zeros((len(frame.beams), 12, 12))
    for block in range(0, 12, 3):
        turns[:, block : block + 3, block : block + 3] = axes
    arms = _arms(frame)
    springs = np.array([joint.stiffness for joint in frame.joints], dtype=float).reshape(-1, 6)
    parts = np.concatenate(
        [np.transpose(turns, (0, 2, 1)) @ own @ turns, np.transpose(arms, (0, 2, 1)) @ (springs[:, :, None] * arms)]
    )
    pairs = [(beam.first, beam.last) for beam in frame.beams] + [(joint.first, joint.last) for joint in frame.joints]
    rows = (np.array(pairs, dtype=np.intp).reshape(-1, 2, 1) * 6 + np.arange(6)).reshape(-1, 12)
    size = 6 * len(frame.nodes)
    places = (rows[:, :, None] * size + rows[:, None, :]).ravel()
    added = np.bincount(places, weights=parts.ravel(), minlength=size * size)
    stiffness: Floats = added.astype(np.float64).reshape(size, size)
    if frame.ground is not None:
        stiffness[np.arange(size), np.arange(size)] += frame.ground.ravel()
    return Assembled(frame, stiffness, own, turns, arms, lengths, rows, _idle(frame))


def _idle(frame: Frame) -> Dofs:
    """Turns of nodes where every member is pinned: nothing turns them, and nothing depends on them."""
    held = [False] * len(frame.nodes)
    for beam in frame.beams:
        for node, pinned in zip((beam.first, beam.last), beam.pinned, strict=True):
            if not pinned:
                held[node] = True
    for joint in frame.joints:
        held[joint.first] = held[joint.last] = True
    return (np.flatnonzero(~np.array(held))[:, None] * 6 + np.arange(3, 6)).ravel().astype(np.intp)


def along_loads(assembled: Assembled, per_length: Floats) -> tuple[Floats, Floats]:
    """Evenly spread loads on members, as forces on the nodes and in each member's own axes.

    Args:
        assembled: the frame
        per_length: force per length of each member in global axes, shape (m, 3) [N/mm]

    Returns:
        Forces on the nodes, shape (6 n,), and of each member, shape (m, 12), that its end forces are short of.
    """
    own = np.einsum("mij,mj->mi", assembled.turns[:, :3, :3], per_length)
    length = assembled.lengths
    ends = np.zeros((len(length), 12))
    for axis in range(3):
        ends[:, axis] = ends[:, axis + 6] = own[:, axis] * length / 2.0
    ends[:, 5], ends[:, 11] = own[:, 1] * length**2 / 12.0, -own[:, 1] * length**2 / 12.0
    ends[:, 4], ends[:, 10] = -own[:, 2] * length**2 / 12.0, own[:, 2] * length**2 / 12.0
    for number, beam in enumerate(assembled.frame.beams):
        if any(beam.pinned):
            ends[number] = _release(assembled, number, ends[number])
    nodes = np.zeros(assembled.stiffness.shape[0])
    turned = np.einsum("mji,mj->mi", assembled.turns, ends)
    np.add.at(nodes, assembled.rows[: len(length)].ravel(), turned.ravel())
    return nodes, ends


def _release(assembled: Assembled, number: int, ends: Floats) -> Floats:
    """End loads of one member after its pinned ends have let go."""
    beam = assembled.frame.beams[number]
    whole = Frame(assembled.frame.nodes, (replace(beam, pinned=(False, False)),))
    k = _own_stiffness(whole, assembled.lengths[[number]])[0]
    released = _released(beam)
    rest = [a for a in range(12) if a not in released]
    found = np.zeros(12)
    share = np.linalg.solve(k[np.ix_(released, released)], ends[released])
    found[rest] = ends[rest] - k[np.ix_(rest, released)] @ share
    return found


@dataclass(frozen=True)
class Held:
    """A frame with some motions held, ready to be solved for any loads."""

    assembled: Assembled
    free: Dofs
    factor: Floats
    scale: Floats

    def motions(self, forces: Floats) -> Floats:
        """Motions of all nodes under forces, shape (6 n,) or (6 n, loads), the held ones 0 [mm, rad]."""
        from scipy.linalg import cho_solve

        scaled = (forces[self.free].T * self.scale).T
        found = np.zeros(forces.shape)
        found[self.free] = (cho_solve((self.factor, True), scaled, check_finite=False).T * self.scale).T
        return found


def hold(assembled: Assembled, held: Sequence[int]) -> Held:
    """Hold motions (6 x node + 0 to 5) and factor the rest.

    Raises:
        UnstableFrameError: something moves freely.
    """
    from scipy.linalg import lapack

    gone = np.union1d(np.asarray(held, dtype=np.intp), assembled.idle)
    free = np.setdiff1d(np.arange(assembled.stiffness.shape[0]), gone).astype(np.intp)
    part = _among(assembled.stiffness, free)
    diagonal = np.diag(part).copy()
    if free.size == 0:
        return Held(assembled, free, np.zeros((0, 0)), np.zeros(0))
    if diagonal.min() <= 0.0:
        raise _unstable(int(free[int(np.argmin(diagonal))]))
    scale = 1.0 / np.sqrt(diagonal)
    part *= scale[:, None]
    part *= scale
    factor, fault = lapack.dpotrf(part, lower=1, clean=1)
    if fault != 0 or float(np.diag(factor).min()) ** 2 < _FOLDS:
        _, shapes = np.linalg.eigh(_among(assembled.stiffness, free) * scale[:, None] * scale[None, :])
        # Motions in mm; turns count as the millimetres they make at half a metre.
        weight = np.where(free % 6 < 3, 1.0, 500.0)
        raise _unstable(int(free[int(np.argmax(np.abs(shapes[:, 0] * scale * weight)))]))
    return Held(assembled, free, factor, scale)


def _among(stiffness: Floats, free: Dofs) -> Floats:
    """The stiffness among some motions alone."""
    found: Floats = stiffness.take(free, axis=0).take(free, axis=1)
    return found


def _unstable(dof: int) -> UnstableFrameError:
    ways = ("along", "across", "up and down", "by leaning across", "by leaning along", "by turning on the spot")
    return UnstableFrameError(dof // 6, ways[dof % 6])


def end_forces(assembled: Assembled, motions: Floats, ends: Floats | None = None) -> Floats:
    """Forces and moments on both ends of every member in its own axes, shape (m, 12) [N, N mm].

    Args:
        assembled: the frame
        motions: of all nodes, shape (6 n,)
        ends: what `along_loads` gave for the members
    """
    count = len(assembled.frame.beams)
    own = np.einsum("mij,mj->mi", assembled.turns, motions[assembled.rows[:count]])
    forces: Floats = np.einsum("mij,mj->mi", assembled.own, own)
    return forces if ends is None else forces - ends


def joint_forces(assembled: Assembled, motions: Floats) -> Floats:
    """Forces and moments that each joint's last node gets drawn back with, shape (j, 6) [N, N mm]; pulling apart positive."""
    count = len(assembled.frame.beams)
    gaps = np.einsum("jik,jk->ji", assembled.joint_arms, motions[assembled.rows[count:]])
    springs = np.array([joint.stiffness for joint in assembled.frame.joints], dtype=float).reshape(-1, 6)
    found: Floats = gaps * springs
    return found


def energies(assembled: Assembled, motions: Floats) -> tuple[Floats, Floats]:
    """Work that each member, shape (m,), and each joint in each way, shape (j, 6), has taken up [N mm]."""
    count = len(assembled.frame.beams)
    own = np.einsum("mij,mj->mi", assembled.turns, motions[assembled.rows[:count]])
    members: Floats = 0.5 * np.einsum("mi,mij,mj->m", own, assembled.own, own)
    gaps = np.einsum("jik,jk->ji", assembled.joint_arms, motions[assembled.rows[count:]])
    springs = np.array([joint.stiffness for joint in assembled.frame.joints], dtype=float).reshape(-1, 6)
    return members, 0.5 * springs * gaps**2


def greatest_moments(forces: Floats, lengths: Floats, per_length: Floats) -> Floats:
    """Greatest bending moments about local y and z anywhere in each member, shape (m, 2) [N mm].

    Args:
        forces: end forces of each member, shape (m, 12)
        lengths: shape (m,) [mm]
        per_length: evenly spread load along local y and z, shape (m, 2) [N/mm]
    """
    found = []
    for shear, moment, end, load in (
        (forces[:, 2], -forces[:, 4], forces[:, 10], per_length[:, 1]),
        (forces[:, 1], forces[:, 5], forces[:, 11], per_length[:, 0]),
    ):
        most = np.maximum(np.abs(moment), np.abs(end))
        # Between the ends it is greatest where the shear force passes through nothing.
        where = np.divide(-shear, load, out=np.zeros_like(shear), where=np.abs(load) > 1e-12)
        between = np.abs(-moment + shear * where + load * where**2 / 2.0)
        found.append(np.where((where > 0.0) & (where < lengths), np.maximum(most, between), most))
    return np.stack(found, axis=1)
