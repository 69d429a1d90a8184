"""What each welded joint bears, and what that stresses its throat with.

References:
    .. [1] EN 1993-1-8, 4.5.3.3, simplified method: the resultant on the throat against one shear strength (from memory)
    .. [2] O. W. Blodgett, Design of Welded Structures: a weld treated as a line (from memory)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.base.frame import end_forces, joint_forces
from slabwright.base.loads import Stood
from slabwright.base.stiffness import Structure, own_weight
from slabwright.base.weld_joints import Meeting, meetings, piece_name


@dataclass(frozen=True)
class JointLoad:
    """What a joint bears, as it stands, without factors.

    Attributes:
        pull: along the branch, or square off a plate [N]
        shear: across it [N]
        over_inside: moment in the plane of the joint; of a plate: along its rail [N mm]
        over_outside: moment out of that plane; of a plate: across its rail [N mm]
        twist: about the branch [N mm]
    """

    pull: float = 0.0
    shear: float = 0.0
    over_inside: float = 0.0
    over_outside: float = 0.0
    twist: float = 0.0


def joint_loads(structure: Structure, standing: Sequence[Stood]) -> dict[str, JointLoad]:
    """The worst of all loads at each joint, by its name: at the end of the piece that ends there.

    A plate on a rail bears what its bolts draw and push it with; caps and foot plates are left out: nothing draws at a cap, and a
    foot plate is pressed on.

    Args:
        structure: the base with its top
        standing: how it stands under each load
    """
    members = structure.drawn.members
    _, short, _ = own_weight(structure)
    every = [end_forces(structure.assembled, one.motions, short)[: structure.beams] for one in standing]
    found = {}
    for meeting in meetings(structure.drawn):
        if meeting.kind == "cap":
            continue
        if meeting.kind == "plate on a rail":
            each = [_on_rail(structure, meeting, one) for one in standing]
            if each:
                found[meeting.name] = max(
                    each, key=lambda load: throat_stress(meeting, load, 1.0, meeting.length / 2.0)
                )
            continue
        number = next(
            n
            for n, m in enumerate(members)
            if piece_name(structure.drawn, m) == meeting.branch and meeting.node in (m.first, m.last)
        )
        start = 0 if members[number].first == meeting.node else 6
        each = [_load(meeting, ends[number, start : start + 6].tolist()) for ends in every]
        if each:
            found[meeting.name] = max(each, key=lambda load: ring_stress(meeting, load, 1.0))
    return found


def _on_rail(structure: Structure, meeting: Meeting, one: Stood) -> JointLoad:
    """What all bolts of a plate do to its seams: forces added up, moments about the middle of the rail's upper side.

    Pressure counts as pull does, which is on the safe side: a plate that is pressed on its rail needs no weld for that.
    """
    plate = next(plate for plate in structure.drawn.plates if plate.name == meeting.chord)
    names = {bolt.name for bolt in plate.bolts}
    forces = joint_forces(structure.assembled, one.motions)[len(structure.feet) :]
    total = np.zeros(6)
    for bolt, force in zip(structure.bolts, forces, strict=True):
        if bolt.name not in names:
            continue
        arm = np.array([bolt.x - plate.x, bolt.y, plate.thickness])
        total[:3] += force[:3]
        total[3:] += force[3:] + np.cross(arm, force[:3])
    return JointLoad(
        pull=float(total[2]),
        shear=math.hypot(float(total[0]), float(total[1])),
        over_inside=float(total[3]),
        over_outside=float(total[4]),
        twist=float(total[5]),
    )


def _load(meeting: Meeting, ends: list[float]) -> JointLoad:
    pull, shear_y, shear_z, twist, over_depth, over_width = ends
    deep = meeting.section.depth
    depth_inside = meeting.inside == deep
    return JointLoad(
        pull=pull,
        shear=(shear_y**2 + shear_z**2) ** 0.5,
        over_inside=over_depth if depth_inside else over_width,
        over_outside=over_width if depth_inside else over_depth,
        twist=twist,
    )


def throat_stress(meeting: Meeting, load: JointLoad, throat: float, each: float) -> float:
    """Resultant stress on the least throat of a joint [MPa]; of a plate on a rail the stitches alone count.

    Two lines b apart, each of welded length L (`each`) spread over the rail: moduli L^2/3 along the rail and b L across it,
    which is on the safe side, as the stitches reach further along than they are long [2]_.
    """
    if meeting.kind != "plate on a rail":
        return ring_stress(meeting, load, throat)
    wide = meeting.outside
    straight = (
        abs(load.pull) / (2.0 * each) + 3.0 * abs(load.over_inside) / each**2 + abs(load.over_outside) / (wide * each)
    )
    return math.hypot(straight, abs(load.shear) / (2.0 * each) + abs(load.twist) / (wide * each)) / throat


def ring_stress(meeting: Meeting, load: JointLoad, throat: float) -> float:
    """Resultant stress on a weld all round the section, treated as a line [1]_ [2]_ [MPa].

    Rectangle d (inside) by b (outside): length 2 (d + b), moduli d^2/3 + b d and b^2/3 + b d, twist over 2 d b. Round: pi d,
    pi d^2 / 4, twist over pi d^2 / 2.
    """
    deep, wide = meeting.inside, meeting.outside
    if meeting.section.kind in ("round tube", "round bar"):
        line, along, across, twisted = (
            math.pi * deep,
            math.pi * deep**2 / 4,
            math.pi * deep**2 / 4,
            math.pi * deep**2 / 2,
        )
    else:
        line = 2.0 * (deep + wide)
        along, across = deep**2 / 3.0 + wide * deep, wide**2 / 3.0 + wide * deep
        twisted = 2.0 * deep * wide
    straight = abs(load.pull) / line + abs(load.over_inside) / along + abs(load.over_outside) / across
    return math.hypot(straight, abs(load.shear) / line + abs(load.twist) / twisted) / throat
