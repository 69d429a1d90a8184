"""Stiffness at the top, what of the give comes from which part, and how fast the table sways."""

from __future__ import annotations

import math

import numpy as np

from slabwright.base.base_results import Shares, Sway, SwayShares
from slabwright.base.frame import energies
from slabwright.base.kinds import Drawn
from slabwright.base.loads import Standing, push_at_top
from slabwright.base.parts import middle_length
from slabwright.base.stiffness import Structure
from slabwright.geometry.faces import Floats

_PARTS = ("frame", "plates", "bolts", "slab", "feet")
_MODES = 4
_ROUNDS = 8


def tube_mass(drawn: Drawn) -> float:
    """Mass of the tubes, by the length on their middle lines [kg]."""
    return math.fsum(part.count * part.section.mass_per_metre * middle_length(part) / 1000.0 for part in drawn.parts)


def steel_mass(drawn: Drawn) -> float:
    """Mass of tubes and plates [kg]."""
    return tube_mass(drawn) + math.fsum(plate.mass for plate in drawn.plates)


def sway(structure: Structure, held: Standing) -> tuple[Sway, SwayShares]:
    """Stiffness at the top and where the give comes from.

    One newton spread over the top moves its mean place by f u; the stiffness is 1 / f u. By Clapeyron's theorem f u is twice
    the work that all parts take up, so that each part's share is its work over the sum.
    """
    stiff, shares = [], []
    for axis in (0, 1):
        push = push_at_top(structure, axis)
        motions = held.held.motions(push)
        stiff.append(1.0 / float(push @ motions))
        shares.append(_shares(structure, motions))
    return Sway(stiff[0], stiff[1]), SwayShares(shares[0], shares[1])


def _shares(structure: Structure, motions: Floats) -> Shares:
    frame = structure.assembled.frame
    members, joints = energies(structure.assembled, motions)
    work = dict.fromkeys(_PARTS, 0.0)
    for beam, taken in zip(frame.beams, members.tolist(), strict=True):
        work[beam.part] += taken
    first = len(structure.feet)
    for number, joint in enumerate(frame.joints):
        taken = float(joints[number].sum())
        if number >= first:
            plate = structure.plate_share[number - first] * float(joints[number, 2])
            work["plates"] += plate
            taken -= plate
        work[joint.part] += taken
    whole = math.fsum(work.values())
    return Shares(**{part: taken / whole for part, taken in work.items()})


def frequency(structure: Structure, held: Standing, mass: Floats) -> float:
    """Lowest mode in which the top moves level, its feet held [Hz].

    Subspace iteration with the consistent start of a top that is moved along, across, up and turned; masses of the nodes only.
    """
    from scipy.linalg import eigh

    free = held.held.free
    weight = np.repeat(mass, 6)
    weight[np.arange(weight.size) % 6 > 2] = 0.0
    places = structure.assembled.frame.nodes
    shapes = np.zeros((weight.size, _MODES))
    for axis in range(3):
        shapes[axis::6, axis] = 1.0
    shapes[0::6, 3], shapes[1::6, 3] = -places[:, 1], places[:, 0]
    values = np.ones(_MODES)
    for _ in range(_ROUNDS):
        forces = weight[:, None] * shapes
        shapes = held.held.motions(forces)
        # The stiffness times these motions is the forces that made them.
        values, mix = eigh(shapes[free].T @ forces[free], shapes.T @ (weight[:, None] * shapes), check_finite=False)
        shapes = shapes @ mix
        shapes /= np.abs(shapes).max(axis=0)
    moved = weight[:, None] * shapes**2
    level = (moved[0::6].sum(axis=0) + moved[1::6].sum(axis=0)) / moved.sum(axis=0)
    swaying = [float(value) for value, share in zip(values, level, strict=True) if share > 0.5]
    # kg mm/s² against N: stiffness in N/mm is 1000 times that in kg/s².
    return math.sqrt(min(swaying or [float(values[0])]) * 1000.0) / (2.0 * math.pi)
