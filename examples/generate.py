"""Makes the examples' readings: invented slabs of our own scenario, drawn by a seeded generator.

Nothing here was measured. Each slab is a sum of plain shapes (cup, bow, twist, wedge, a dip, saw marks) and a seeded
roughness, read at stations with a gauge error. Run it to write the readings again, byte for byte:

    python examples/generate.py

The scenario: a joiner's shop in the invented valley of Oberlauf makes a reading table for the village library, a desk for
its hall, and a window bench.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

HERE = Path(__file__).parent
MARKED = "# invented readings, made by examples/generate.py\n"

Floats = NDArray[np.float64]
Surface = Callable[[Floats, Floats], Floats]


@dataclass(frozen=True)
class Shape:
    """An invented slab: heights of both faces in one frame, and the outlines of both faces [mm]."""

    face_a: Surface
    face_b: Surface
    outline_a: Floats
    outline_b: Floats


def wavy_outline(length: float, width: float, seed: int, slope: float) -> tuple[Floats, Floats]:
    """Outlines of both faces of a slab with two live edges; face B is wider by `slope` on each side."""
    draw = np.random.default_rng(seed)
    x = np.linspace(0.0, length, 41)
    edges = []
    for side in (-1.0, 1.0):
        wave = np.zeros_like(x)
        for order in range(1, 6):
            size, phase = draw.normal(0.0, 9.0 / order), draw.uniform(0.0, 2.0 * np.pi)
            wave += size * np.sin(order * np.pi * x / length + phase)
        edges.append(side * width / 2.0 + wave)
    below, above = edges
    outlines = []
    for wider in (0.0, slope):
        low = np.column_stack([x, below - wider])
        high = np.column_stack([x[::-1], (above + wider)[::-1]])
        outlines.append(np.vstack([low, high]))
    return outlines[0], outlines[1]


def rough(seed: int, height: float, length_scale: float) -> Surface:
    """A smooth random surface: 60 cosine waves of seeded direction, wavelength about `length_scale` [mm]."""
    draw = np.random.default_rng(seed)
    angle = draw.uniform(0.0, 2.0 * np.pi, 60)
    number = 2.0 * np.pi / (length_scale * draw.uniform(0.6, 2.5, 60))
    phase = draw.uniform(0.0, 2.0 * np.pi, 60)

    def surface(x: Floats, y: Floats) -> Floats:
        turns = np.multiply.outer(x, number * np.cos(angle)) + np.multiply.outer(y, number * np.sin(angle)) + phase
        return np.asarray(height * np.sqrt(2.0 / 60.0) * np.cos(turns).sum(axis=-1))

    return surface


def slab(
    *,
    length: float,
    width: float,
    thickness: float,
    cup: float,
    bow: float,
    twist: float,
    wedge: float,
    dips: Sequence[tuple[float, float, float, float]],
    seed: int,
    edge_slope: float = 12.0,
) -> Shape:
    """An invented slab.

    Args:
        length: along the grain [mm]
        width: across [mm]
        thickness: before anything else [mm]
        cup: rise of the edges against the middle line [mm]
        bow: rise of the middle against the ends [mm]
        twist: rise of one corner out of the plane of the other three [mm]
        wedge: how much thicker one end is [mm]
        dips: on face A: x, y, radius, depth [mm]
        seed: of all that is drawn
        edge_slope: by which face B is wider than face A on each live edge [mm]

    Returns:
        Surfaces and outlines.
    """
    saw_a, saw_b = rough(seed, 0.45, 180.0), rough(seed + 1, 0.45, 180.0)

    def common(x: Floats, y: Floats) -> Floats:
        u, v = x / length - 0.5, y / width
        return np.asarray(cup * 4.0 * v * v + bow * (1.0 - 4.0 * u * u) + twist * u * v)

    def face_a(x: Floats, y: Floats) -> Floats:
        z = common(x, y) + thickness / 2.0 + wedge * (x / length - 0.5) / 2.0 + saw_a(x, y)
        for at_x, at_y, radius, depth in dips:
            z = z - depth * np.exp(-(((x - at_x) ** 2 + 1.6 * (y - at_y) ** 2) / radius**2))
        return np.asarray(z)

    def face_b(x: Floats, y: Floats) -> Floats:
        return np.asarray(common(x, y) - thickness / 2.0 - wedge * (x / length - 0.5) / 2.0 + saw_b(x, y))

    return Shape(face_a, face_b, *wavy_outline(length, width, seed + 2, edge_slope))


def stations(shape: Shape, along: int, across: int, *, inset: float) -> tuple[Floats, Floats]:
    """Stations in rows across the slab, evenly between the edges of face A less the inset, as a maker would space them."""
    low, high = shape.outline_a[:41], shape.outline_a[41:][::-1]
    length = float(low[-1, 0])
    rows = np.linspace(inset, length - inset, along)
    at_x, at_y = [], []
    for x in rows:
        below, above = np.interp(x, low[:, 0], low[:, 1]), np.interp(x, high[:, 0], high[:, 1])
        for y in np.linspace(below + inset, above - inset, across):
            at_x.append(round(float(x), 0))
            at_y.append(round(float(y), 0))
    return np.array(at_x), np.array(at_y)


def write_lines(path: Path, header: str, rows: Sequence[Sequence[object]]) -> None:
    """Write a small CSV, marked as invented."""
    path.write_text(MARKED + header + "\n" + "".join(",".join(map(str, row)) + "\n" for row in rows), encoding="utf-8")


def write_outline(path: Path, outline: Floats, unit: float = 1.0, places: int = 1) -> None:
    """Write an outline, `unit` mm to the figure."""
    write_lines(path, "x,y", [(round(x / unit, places), round(y / unit, places)) for x, y in outline.tolist()])


def reading_table() -> None:
    """White ash, 2.4 m x 0.95 m, read every 60 mm or so on both faces in one frame, lying on two bearers."""
    shape = slab(
        length=2400,
        width=950,
        thickness=66,
        cup=2.6,
        bow=2.2,
        twist=5.0,
        wedge=1.6,
        dips=[(2130, 190, 150, 6.5)],
        seed=71,
    )
    gauge = np.random.default_rng(710)
    rows = []
    x, y = stations(shape, 39, 16, inset=22)
    for name, surface in (("A", shape.face_a), ("B", shape.face_b)):
        z = surface(x, y) + 120.0 + gauge.normal(0.0, 0.1, x.size)
        rows += [(name, f"{px:.0f}", f"{py:.0f}", f"{pz:.1f}") for px, py, pz in zip(x, y, z, strict=True)]
    folder = HERE / "reading-table"
    write_lines(folder / "survey.csv", "face,x,y,z", rows)
    write_outline(folder / "outline-a.csv", shape.outline_a)
    write_outline(folder / "outline-b.csv", shape.outline_b)


def sixteenths(value_mm: float) -> str:
    """A height in inches to the nearest sixteenth, as it is written by hand."""
    whole = Fraction(round(value_mm / 25.4 * 16), 16)
    inches, rest = divmod(whole, 1)
    return f"{inches} {rest}" if inches and rest else str(rest or inches)


def hall_desk() -> None:
    """Black walnut, 6 ft x 30 in, read by hand with a rule at 5 x 3 stations a face, in sixteenths."""
    shape = slab(
        length=1829, width=762, thickness=57, cup=1.8, bow=1.5, twist=3.0, wedge=0.8, dips=[], seed=23, edge_slope=6.0
    )
    x, y = stations(shape, 5, 3, inset=51)
    inch = 25.4
    rows = []
    for name, surface in (("A", shape.face_a), ("B", shape.face_b)):
        z = surface(x, y) + 4.0 * inch
        rows += [
            (name, round(px / inch * 2) / 2, round(py / inch * 2) / 2, sixteenths(pz))
            for px, py, pz in zip(x, y, z.tolist(), strict=True)
        ]
    folder = HERE / "hall-desk"
    write_lines(folder / "survey.csv", "face,x,y,z", rows)
    write_outline(folder / "outline.csv", shape.outline_a, inch, 2)


def window_bench() -> None:
    """White oak, 1.9 m x 0.55 m: face A read, the slab turned over, face B read; callipers at eight places and two marks."""
    shape = slab(
        length=1900,
        width=550,
        thickness=58,
        cup=1.5,
        bow=1.0,
        twist=2.5,
        wedge=0.6,
        dips=[(420, -90, 110, 3.0)],
        seed=47,
    )
    gauge = np.random.default_rng(470)
    x, y = stations(shape, 20, 7, inset=20)
    folder = HERE / "window-bench"

    z = shape.face_a(x, y) + 95.0 + gauge.normal(0.0, 0.1, x.size)
    write_lines(
        folder / "face-a.csv",
        "x,y,z",
        [(f"{px:.0f}", f"{py:.0f}", f"{pz:.1f}") for px, py, pz in zip(x, y, z, strict=True)],
    )

    # Turned over about its length (y and z change sign), then laid a little askew on other bearers, where it bends the other way.
    turn, shift_x, shift_y, offset, slope_x, slope_y, bend = 0.004, 12.0, -7.0, 101.0, 0.0011, -0.0017, 0.35

    def second(px: Floats, py: Floats) -> tuple[Floats, Floats]:
        return (
            np.cos(turn) * px + np.sin(turn) * py + shift_x,
            np.sin(turn) * px - np.cos(turn) * py + shift_y,
        )

    u = x / 1900.0
    bx, by = second(x, y)
    bz = (
        -shape.face_b(x, y)
        + offset
        + slope_x * x
        + slope_y * y
        - bend * 4.0 * u * (1.0 - u)
        + gauge.normal(0.0, 0.1, x.size)
    )
    write_lines(
        folder / "face-b.csv",
        "x,y,z",
        [(f"{px:.1f}", f"{py:.1f}", f"{pz:.1f}") for px, py, pz in zip(bx, by, bz, strict=True)],
    )

    # Callipers at stations that were read on both faces: rows near the ends and about the middle, near each long edge.
    at = [row * 7 + column for row in (1, 7, 12, 18) for column in (0, 6)]
    places = np.column_stack([x[at], y[at]])
    gap = (
        shape.face_a(places[:, 0], places[:, 1])
        - shape.face_b(places[:, 0], places[:, 1])
        + gauge.normal(0.0, 0.1, len(places))
    )
    write_lines(
        folder / "callipers.csv",
        "x,y,thickness",
        [(int(px), int(py), f"{t:.1f}") for (px, py), t in zip(places, gap, strict=True)],
    )
    write_outline(folder / "outline-a.csv", shape.outline_a)
    marks = np.array([(60.0, 0.0), (1840.0, 20.0)])
    mx, my = second(marks[:, 0], marks[:, 1])
    print(
        "marks of the window bench, face B:",
        [(round(float(a), 1), round(float(b), 1)) for a, b in zip(mx, my, strict=True)],
    )


def main() -> None:
    """Write every example's readings."""
    reading_table()
    hall_desk()
    window_bench()


if __name__ == "__main__":
    main()
