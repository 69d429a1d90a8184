"""Steel sections by name: what they weigh and how stiff and strong they are, from published tables or from their sizes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from slabwright.accounts import figure
from slabwright.base.section_names import EXAMPLES, NoSectionError, Sizes, parse_section, section_name
from slabwright.base.section_shapes import Shape, angle, rectangle, rectangular_tube, round_tube
from slabwright.findings import SlabwrightError
from slabwright.quantities import Units, format_length
from slabwright.reference.steel import SectionKind, SteelRow, steel

_SAME_SIZE = 0.06
"""Sizes that differ by no more are the same one [mm]: 3/16 in is sold as 0.188 in."""
_TABLE_OR_SIZES = "published table where it lists the size; else formulae of EN 10219-2 or closed forms from its sizes"


@dataclass(frozen=True)
class Section:
    """A steel section; y: bent over its depth (its first size), z: over its width."""

    name: str = figure("", "what it is called", rests_on=("job:base",))
    kind: SectionKind = figure("", "its shape")
    system: Units = figure("", "units that it is sold in")
    depth: float = figure("mm", "its first size", how="as named")
    width: float = figure("mm", "its second size", how="as named")
    wall: float | None = figure("mm", "of a tube or an angle, nominal; none: it is solid", how="as named")
    listed: bool = figure("", "whether a published table lists this size", how="looked up by its sizes")
    area: float = figure("mm2", "of the steel", how=_TABLE_OR_SIZES, source="base.section.source")
    mass_per_metre: float = figure(
        "kg", "of one metre", how="published table; else nominal area times 7850 kg/m3", source="base.section.source"
    )
    second_moment_y: float = figure("mm4", "stiffness over its depth", how=_TABLE_OR_SIZES)
    second_moment_z: float = figure("mm4", "stiffness over its width", how=_TABLE_OR_SIZES)
    second_moment_least: float = figure("mm4", "stiffness about its weakest axis", how=_TABLE_OR_SIZES)
    modulus_y: float = figure("mm3 modulus", "strength over its depth, until it first yields", how=_TABLE_OR_SIZES)
    modulus_z: float = figure("mm3 modulus", "strength over its width, until it first yields", how=_TABLE_OR_SIZES)
    plastic_modulus_y: float = figure(
        "mm3 modulus", "strength over its depth, yielding throughout", how=_TABLE_OR_SIZES
    )
    plastic_modulus_z: float = figure(
        "mm3 modulus", "strength over its width, yielding throughout", how=_TABLE_OR_SIZES
    )
    torsion_constant: float = figure("mm4", "stiffness against twist", how=_TABLE_OR_SIZES)
    shear_area_y: float = figure(
        "mm2", "that carries a force along its width", source="EN 1993-1-1, 6.2.6 (3), from memory"
    )
    shear_area_z: float = figure(
        "mm2", "that carries a force along its depth", source="EN 1993-1-1, 6.2.6 (3), from memory"
    )
    perimeter: float = figure("mm", "of its outside, for paint", how="from its sizes, corners rounded")
    source: str = figure("", "whose table or formulae")


def section(name: str, units: Units = "metric") -> Section:
    """A section by its name.

    Args:
        name: such as `60x60x4`, `2 in x 2 in x 1/4 in`, `HSS 2x2x1/4`, `round tube 48.3x3`, `flat 60x6`, `angle 50x50x5`,
            `square bar 20`, `round bar 16`, `square tube 2 in x 11 ga`
        units: of its plain numbers, where nothing else tells

    Raises:
        SlabwrightError: there is no such section; says why and names near ones.
    """
    return _section(name, units)


@lru_cache(maxsize=512)
def _section(name: str, units: Units) -> Section:
    shown = "".join(c if c.isprintable() else "?" for c in name[:60])
    try:
        sizes = parse_section(name, units)
        row = _listed(sizes)
        if row is None:
            _check(sizes)
    except NoSectionError as error:
        near = near_sections(name, units)
        hint = f"near ones: {', '.join(near)}" if near else f"sections are written like {EXAMPLES}"
        raise SlabwrightError(f"there is no steel section {shown!r}: {error}; {hint}") from error
    return _of_sizes(sizes) if row is None else _of_row(row, sizes)


def near_sections(name: str, units: Units = "metric", count: int = 3) -> tuple[str, ...]:
    """Listed sections that are most like a name, nearest first.

    Args:
        name: as typed; one that can not be read gives none
        units: of its plain numbers
        count: at most so many
    """
    readings: list[Sizes] = []
    for system in (units, "metric", "inch"):
        try:
            readings.append(parse_section(name, "inch" if system == "inch" else "metric"))
        except NoSectionError:
            continue
    readings = [
        sizes for sizes in readings if sizes.wall is not None and min(sizes.depth, sizes.width, sizes.wall) > 0.0
    ]
    if not readings:
        return ()

    def far(row: SteelRow) -> float:
        return min(
            sum(
                abs(math.log(mine / its)) * weight
                for mine, its, weight in (
                    (sizes.depth, row.depth, 1.0),
                    (sizes.width, row.width, 1.0),
                    (sizes.wall or row.wall, row.wall, 0.3),
                )
            )
            + 0.05 * (sizes.system != row.system)
            for sizes in readings
        )

    alike = [row for row in steel().rows.values() if _family(row.kind) == _family(readings[0].kind)]
    return tuple(row.name for row in sorted(alike, key=far)[:count])


def _family(kind: SectionKind) -> str:
    return "tube" if kind in ("square tube", "rectangular tube") else kind


def _same(sizes: Sequence[float | None], others: Sequence[float | None]) -> bool:
    return all(
        mine is not None and its is not None and abs(mine - its) <= _SAME_SIZE
        for mine, its in zip(sizes, others, strict=True)
    )


def _listed(sizes: Sizes) -> SteelRow | None:
    """The table's row of these sizes, whichever way round they were typed."""
    for row in steel().rows.values():
        if _family(row.kind) == _family(sizes.kind) and row.system == sizes.system:
            table = (row.depth, row.width, row.wall)
            if _same((sizes.depth, sizes.width, sizes.wall), table) or _same(
                (sizes.width, sizes.depth, sizes.wall), table
            ):
                return row
    return None


def _check(sizes: Sizes) -> None:
    """Whether steel of these sizes can be.

    Raises:
        NoSectionError: it cannot, or not in a shop.
    """
    known = steel()

    def within(size: float, what: str, least_most: tuple[float, float]) -> None:
        if not least_most[0] <= size <= least_most[1]:
            least, most = (format_length(limit, sizes.system) for limit in least_most)
            raise NoSectionError(f"{what} of {format_length(size, sizes.system)} is not made; {least} to {most} is")

    if sizes.wall is None:
        for size in (sizes.depth, sizes.width):
            within(size, "a size", (known.wall[0], known.side[1]) if sizes.kind == "flat" else known.solid)
        return
    for size in (sizes.depth, sizes.width):
        within(size, "a side" if sizes.kind != "round tube" else "a diameter", known.side)
    side = min(sizes.depth, sizes.width)
    if 2.0 * sizes.wall >= side:
        half = "half of its diameter" if sizes.kind == "round tube" else "half of its side"
        wall, whole = (format_length(size, sizes.system) for size in (sizes.wall, side))
        raise NoSectionError(f"its wall of {wall} is as thick as {half}, {whole}, or thicker: nothing is left inside")
    within(sizes.wall, "a wall", known.wall)


def _shape(sizes: Sizes, wall: float | None, root_radius: float | None = None) -> tuple[Shape, str]:
    """Properties from sizes, and which formulae gave them."""
    sources = steel().sources
    if wall is None:
        solid = round_tube(sizes.depth, sizes.depth / 2.0) if sizes.kind == "round bar" else None
        return solid or rectangle(sizes.depth, sizes.width), sources["closed_form"]
    if sizes.kind == "round tube":
        return round_tube(sizes.depth, wall), sources["closed_form"]
    if sizes.kind == "angle":
        root = _root_radius(sizes) if root_radius is None else root_radius
        return angle(sizes.depth, sizes.width, wall, root), sources["angle"]
    times = next(multiple for up_to, multiple in steel().corners if (sizes.wall or wall) <= up_to)
    if sizes.system == "inch":
        times = steel().corners[0][1]
    return rectangular_tube(sizes.depth, sizes.width, wall, times * wall), sources["annex"]


def _root_radius(sizes: Sizes) -> float:
    """Of the listed angle whose legs are nearest."""
    known = [row for row in steel().rows.values() if row.kind == "angle" and row.system == sizes.system]
    near = min(
        known, key=lambda row: (abs(row.depth - max(sizes.depth, sizes.width)), abs(row.wall - (sizes.wall or 0)))
    )
    return near.root_radius or 0.0


def _design_wall(sizes: Sizes) -> float | None:
    """The wall that strength and stiffness are counted with: inch tube is counted thinner than nominal."""
    tube = sizes.wall is not None and sizes.kind != "angle"
    return sizes.wall * steel().inch_design_wall if tube and sizes.wall and sizes.system == "inch" else sizes.wall


def _of_sizes(sizes: Sizes) -> Section:
    shape, source = _shape(sizes, _design_wall(sizes))
    nominal, _ = _shape(sizes, sizes.wall)
    return Section(
        name=section_name(sizes),
        kind=sizes.kind,
        system=sizes.system,
        depth=sizes.depth,
        width=sizes.width,
        wall=sizes.wall,
        listed=False,
        area=shape.area,
        mass_per_metre=nominal.area * steel().density * 1e-6,
        second_moment_y=shape.second_moment_y,
        second_moment_z=shape.second_moment_z,
        second_moment_least=shape.second_moment_least,
        modulus_y=shape.modulus_y,
        modulus_z=shape.modulus_z,
        plastic_modulus_y=shape.plastic_modulus_y,
        plastic_modulus_z=shape.plastic_modulus_z,
        torsion_constant=shape.torsion_constant,
        shear_area_y=shape.shear_area_y,
        shear_area_z=shape.shear_area_z,
        perimeter=nominal.perimeter,
        source=source,
    )


def _of_row(row: SteelRow, sizes: Sizes) -> Section:
    """A listed section; what its table leaves out follows from its sizes; turned where it was typed the other way round."""
    computed = _of_sizes(Sizes(row.kind, row.depth, row.width, row.wall, row.system))
    published: dict[str, Any] = {column: value for column, value in row.values.items() if value is not None}
    if "second_moment_least" not in published:
        published["second_moment_least"] = min(published["second_moment_y"], published["second_moment_z"])
    found = replace(computed, name=row.name, listed=True, mass_per_metre=row.mass, source=row.source, **published)
    if _same((sizes.depth, sizes.width), (row.depth, row.width)):
        return found
    return replace(
        found,
        name=section_name(replace(sizes, depth=row.width, width=row.depth, wall=row.wall)),
        depth=row.width,
        width=row.depth,
        second_moment_y=found.second_moment_z,
        second_moment_z=found.second_moment_y,
        modulus_y=found.modulus_z,
        modulus_z=found.modulus_y,
        plastic_modulus_y=found.plastic_modulus_z,
        plastic_modulus_z=found.plastic_modulus_y,
        shear_area_y=found.shear_area_z,
        shear_area_z=found.shear_area_y,
    )
