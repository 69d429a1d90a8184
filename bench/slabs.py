"""Invented rough slabs, seeded: what the bench measures on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Floats, Grid, Scatter

LENGTH = 2400.0
WIDTH = 950.0


@dataclass(frozen=True)
class Truth:
    """The two faces of an invented slab, without roughness, at any place."""

    seed: int
    thickness: float

    def faces(self, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        """Heights of both faces at places, less their roughness [mm].

        The mid-surface is cupped, twisted, bowed and tilted; the saw left a wedge and a slow wander on each face; face A
        has one to three dips, face B may have one.
        """
        draw = np.random.default_rng((self.seed, 1))
        u, v = 2.0 * x / LENGTH - 1.0, 2.0 * y / WIDTH - 1.0
        cup, twist, bow = draw.uniform(1.0, 6.0), draw.normal(0.0, 3.0), draw.normal(0.0, 3.0)
        lie_x, lie_y = draw.normal(0.0, 2.0, 2)
        middle = cup * v * v + twist * u * v + bow * u * u + lie_x * u + lie_y * v
        wedge_x, wedge_y = draw.normal(0.0, 1.0, 2)
        half = self.thickness / 2.0 + wedge_x * u + wedge_y * v
        above, below = middle + half, middle - half
        for heights, way in ((above, -1.0), (below, 1.0)):
            for _ in range(3):
                wave_x, wave_y = draw.uniform(0.5, 4.0), draw.uniform(0.3, 2.0)
                phase_x, phase_y, size = draw.uniform(0, 2 * np.pi), draw.uniform(0, 2 * np.pi), draw.uniform(0.1, 0.5)
                heights += size * np.sin(np.pi * wave_x * u + phase_x) * np.sin(np.pi * wave_y * v + phase_y)
            for _ in range(int(draw.integers(1, 4)) if way < 0 else int(draw.integers(0, 2))):
                at_x, at_y = draw.uniform(-0.95, 0.95), draw.uniform(-0.95, 0.95)
                depth, reach_x, reach_y = draw.uniform(1.0, 9.0), draw.uniform(60, 220), draw.uniform(40, 120)
                far_x, far_y = (u - at_x) * LENGTH / 2.0 / reach_x, (v - at_y) * WIDTH / 2.0 / reach_y
                heights += way * depth * np.exp(-0.5 * (far_x * far_x + far_y * far_y))
        return above, below


def random_slab(
    seed: int, *, spacing: float = 50.0, rough: float = 0.3, thickness: float = 65.0, scattered: int | None = None
) -> tuple[Grid, Grid] | tuple[Scatter, Scatter]:
    """Readings of both faces of an invented white-ash slab of 2.4 by 0.95 m.

    Args:
        seed: the same seed gives the same slab at every spacing
        spacing: of the grid, at most; the border is read [mm]
        rough: standard deviation of the roughness from reading to reading [mm]
        thickness: nominal [mm]
        scattered: so many readings a face at random places, elsewhere on each face, instead of a grid

    Returns:
        Face A and face B.
    """
    truth = Truth(seed, thickness)
    draw = np.random.default_rng((seed, 2))
    if scattered is None:
        x = np.linspace(0.0, LENGTH, round(LENGTH / spacing) + 1)
        y = np.linspace(0.0, WIDTH, round(WIDTH / spacing) + 1)
        above, below = truth.faces(x[:, None] + 0.0 * y, 0.0 * x[:, None] + y)
        above += draw.normal(0.0, rough, above.shape)
        below += draw.normal(0.0, rough, below.shape)
        return Grid(x, y, above), Grid(x, y, below)
    x_a, x_b = draw.uniform(0.0, LENGTH, (2, scattered))
    y_a, y_b = draw.uniform(0.0, WIDTH, (2, scattered))
    face_a, face_b = truth.faces(x_a, y_a)[0], truth.faces(x_b, y_b)[1]
    return (
        Scatter(x_a, y_a, face_a + draw.normal(0.0, rough, scattered)),
        Scatter(x_b, y_b, face_b + draw.normal(0.0, rough, scattered)),
    )
