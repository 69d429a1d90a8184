"""Outlines from files: CSV `x,y`, or the largest closed loop of a drawing; and the checks that every outline passes."""

from __future__ import annotations

import numpy as np

from slabwright.geometry.faces import Face, Floats, as_scatter
from slabwright.geometry.outlines import crossing, signed_area, without_repeats
from slabwright.job.readings.dxf import loops_of_dxf
from slabwright.job.readings.long_csv import wrong_header
from slabwright.job.readings.source import FARTHEST, Source
from slabwright.job.readings.svg import loops_of_svg
from slabwright.job.readings.table import header_of, open_text, read_table

OUTLINE = ("x", "y")
SMALLEST = 100.0
"""Square millimetres; an outline of less is no slab's."""


def read_outline(source: Source) -> Floats:
    """The corners of an outline, anticlockwise, not closed, shape (n, 2) [mm].

    Raises:
        SlabwrightError: no closed loop, fewer than three corners, no area, or a loop that crosses itself.
    """
    kind = source.path.suffix.lower()
    if kind not in (".dxf", ".svg"):
        return checked(source, _from_csv(source))
    loops = loops_of_dxf(source) if kind == ".dxf" else loops_of_svg(source)
    loops = [loop for loop in loops if len(without_repeats(loop, 1e-6)) >= 3]
    if not loops:
        source.fail("the drawing holds no closed polyline, path or circle; draw the outline as one closed line.")
    return checked(source, max(loops, key=lambda loop: abs(signed_area(loop))))


def _from_csv(source: Source) -> Floats:
    text = open_text(source)
    header = header_of(text)
    if header.names != OUTLINE:
        wrong_header(source, header, "x,y")
    return read_table(text, OUTLINE, header.end, header.line + 1).values


def checked(source: Source, corners: Floats) -> Floats:
    """The corners, anticlockwise and without repeats, once the loop is known to be sound."""
    if not np.all(np.abs(corners) <= FARTHEST):
        source.fail("the outline reaches more than 100 m away; correct it, or its unit.")
    corners = without_repeats(corners, 1e-6)
    if len(corners) < 3:
        source.fail(f"the outline has {len(corners)} different corners; at least 3 are wanted.")
    if np.linalg.matrix_rank(corners - corners.mean(axis=0), tol=1e-6 * np.ptp(corners)) < 2:
        source.fail("the corners of the outline lie in a line; it needs an area.")
    at = crossing(corners)
    if at is not None:
        x, y = (value / source.factor for value in at)
        source.fail(
            f"the outline crosses or touches itself at x = {x:.6g}, y = {y:.6g} {source.unit}; put its corners in order."
        )
    area = signed_area(corners)
    if abs(area) < SMALLEST:
        source.fail(f"the outline holds {abs(area):.3g} mm2, no slab is so small; correct it, or its unit.")
    return corners if area > 0 else corners[::-1].copy()


def check_covers(source: Source, corners: Floats, face: Face, name: str) -> None:
    """Refuse an outline that most readings of a face lie outside of."""
    from shapely import Polygon, contains_xy, prepare

    places = as_scatter(face)
    step = max(1, len(places) // 20_000)
    outline = Polygon(corners).buffer(1.0)
    prepare(outline)
    share = float(np.mean(contains_xy(outline, places.x[::step], places.y[::step])))
    if share < 0.5:
        source.fail(
            f"the outline misses the readings: {100 * (1 - share):.0f} % of face {name}'s lie outside it;"
            " give both in one frame and check their units."
        )
