"""Scans: meshes (PLY, STL, OBJ) and bare points, their faces told apart and their outlines found.

Edges of the slab steeper than 45 degrees belong to no face, so each face has an outline of its own. A scan keeps its own
axes where it lies flat with its length along x; otherwise it is turned so that it does.
"""

from __future__ import annotations

import io
import logging
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Face, Floats
from slabwright.geometry.outlines import corners_of, outline_of_points, outline_of_triangles
from slabwright.geometry.scans import FEW, laid_flat, on_face, spacing_of, told_apart
from slabwright.job.readings.faces import merged
from slabwright.job.readings.source import FARTHEST, Source, is_number
from slabwright.job.readings.table import Header, Text, header_of, read_table

MESHES = (".ply", ".stl", ".obj")
POINT_LISTS = (".xyz", ".txt", ".asc", ".pts")
SMALLEST = 50.0
"""Millimetres; a scan that is no longer was exported in another unit."""
_LEVEL = np.sqrt(0.5)
"""Upward part of a unit normal at 45 degrees."""
_NEARLY_UPRIGHT = 0.1
Triangles = NDArray[np.int64]


@dataclass(frozen=True)
class Scan:
    """A scanned slab.

    Attributes:
        faces: readings by face
        outlines: corners by face, or None where the points are too few to show one
    """

    faces: dict[str, Face]
    outlines: dict[str, Floats | None]


def read_mesh(source: Source) -> Scan:
    """The slab of a PLY, STL or OBJ file, a mesh or bare points.

    Raises:
        SlabwrightError: a file that can't be read as what its name says, or no slab.
    """
    kind = source.path.suffix.lower()[1:]
    data = source.read()
    if kind == "obj":
        data = data.decode("utf-8", "replace").encode()
    import trimesh

    loaded: Any = None
    readable = True
    with _quiet():
        # A reader of foreign formats raises whatever its parsing stumbles over; all of it means the same to the maker.
        try:
            loaded = trimesh.load(io.BytesIO(data), file_type=kind, process=False, skip_materials=True)
            if isinstance(loaded, trimesh.Scene):
                loaded = loaded.to_geometry() if loaded.geometry else None
            if isinstance(loaded, trimesh.Trimesh) and len(loaded.vertices) > len(loaded.faces):
                loaded.merge_vertices(merge_tex=True, merge_norm=True)
            points = np.array(loaded.vertices, dtype=np.float64).reshape(-1, 3)
            triangles = np.array(getattr(loaded, "faces", np.empty((0, 3))), dtype=np.int64).reshape(-1, 3)
        except Exception:
            readable = False
    if not readable:
        source.fail(f"the file can't be read as {kind.upper()}; export the scan again, as PLY if there is a choice.")
    if triangles.size and (triangles.min() < 0 or triangles.max() >= len(points)):
        source.fail("the file names points that it does not hold; export the scan again.")
    return _slab(source, points * source.factor, triangles)


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep a reader's warnings off the screen: what matters of them is told as an error."""
    log = logging.getLogger("trimesh")
    before = log.disabled
    log.disabled = True
    try:
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            yield
    finally:
        log.disabled = before


def read_array(source: Source) -> Scan:
    """The slab of points in a NumPy file, shape (n, 3)."""
    data = source.read()
    try:
        points = np.load(io.BytesIO(data), allow_pickle=False)
    except (ValueError, OSError, EOFError, TypeError, SyntaxError, MemoryError, KeyError, UnicodeError):
        source.fail("the file can't be read as NPY; save it with numpy.save as an array of x, y, z rows.")
    if not isinstance(points, np.ndarray) or points.ndim != 2 or points.shape[1] != 3 or points.dtype.kind not in "fiu":
        source.fail("the array is not rows of three numbers; save it with numpy.save as an array of x, y, z rows.")
    with np.errstate(all="ignore"):
        points = points.astype(np.float64) * source.factor
    return _slab(source, points, np.empty((0, 3), dtype=np.int64))


def is_point_list(text: Text, header: Header) -> bool:
    """Whether a text holds bare points: headed `x,y,z`, or without a header in a file whose name says so."""
    if header.names == ("x", "y", "z"):
        # A face's letter in the first row says that the header, not the list, forgot the faces.
        return next((is_number(cells[0]) for _, cells in text.rows(header.end)), True)
    if text.source.path.suffix.lower() not in POINT_LISTS or len(header.cells) < 3:
        return False
    return header.names[:3] == ("x", "y", "z") or all(is_number(cell) for cell in header.cells[:3])


def read_points(text: Text) -> Scan:
    """The slab of a list of points x, y, z, with a header `x,y,z` or none; further columns are passed over."""
    header = header_of(text)
    headed = header.names[:3] == ("x", "y", "z")
    start, line = (header.end, header.line + 1) if headed else (0, 1)
    table = read_table(text, ("x", "y", "z"), start, line, more=len(header.cells) > 3)
    return _slab(text.source, table.values, np.empty((0, 3), dtype=np.int64))


def _slab(source: Source, points: Floats, triangles: Triangles) -> Scan:
    """Lay the points flat, tell the faces apart, find their outlines."""
    if len(points) < 6:
        source.fail(f"the scan holds {len(points)} points; a slab read on both faces is wanted.")
    finite = np.isfinite(points).all(axis=1)
    if not finite.all():
        source.fail(
            f"{int(np.count_nonzero(~finite))} points of the scan are nan or infinite; export only what was seen."
        )
    if np.abs(points).max() > FARTHEST:
        source.fail("points of the scan lie more than 100 m away; move it near the origin, or correct survey_units.")
    size = np.ptp(points, axis=0)
    if size.max() < SMALLEST:
        source.fail(f"the scan is {size.max():.3g} mm long, taken in {source.unit}; state its unit as survey_units.")
    if np.sqrt(max(0.0, np.linalg.eigvalsh(np.cov(points.T))[1])) < 1e-3 * size.max():
        source.fail("all points of the scan lie in a line; a slab read on both faces is wanted.")
    turn = laid_flat(points)
    if turn is not None:
        points = points @ turn.T
    sides = _mesh_sides(points, triangles) if len(triangles) else None
    if sides is None:
        sides = [(points[side], None) for side in told_apart(points)]
    faces: dict[str, Face] = {}
    outlines: dict[str, Floats | None] = {}
    for name, (own, part) in zip("AB", sides, strict=True):
        if len(own) < 3:
            side = "above" if name == "A" else "below"
            source.fail(f"the scan shows nothing of face {name}, the one {side}; scan both faces into one file.")
        if part is None:
            own = own[on_face(own)]
            faces[name], outlines[name] = merged(own), _points_outline(own)
        else:
            faces[name], outlines[name] = _mesh_face(own, part)
    return Scan(faces, outlines)


def _points_outline(points: Floats) -> Floats | None:
    if len(points) < FEW:
        return None
    x, y = points[:, 0], points[:, 1]
    found = outline_of_points(x, y, spacing_of(x, y))
    return None if found is None else corners_of(found)


Side = tuple[Floats, Triangles | None]


def _mesh_sides(points: Floats, triangles: Triangles) -> list[Side] | None:
    """The parts of a mesh that look up and down, or None where its triangles do not tell (wound without order)."""
    first, second, third = (points[triangles[:, at]] for at in range(3))
    normals = np.cross(second - first, third - first)
    area = np.linalg.norm(normals, axis=1)
    level = np.divide(normals[:, 2], area, out=np.zeros_like(area), where=area > 0)
    up, down = level > _NEARLY_UPRIGHT, level < -_NEARLY_UPRIGHT
    if not up.any() or not down.any():
        return None
    height = first[:, 2]
    if height[up].mean() < height[down].mean():
        up, down = down, up
    every = max(1, len(points) // 50_000)
    looks_up = np.zeros(len(points), dtype=bool)
    looks_up[triangles[up]] = True
    looks_down = np.zeros(len(points), dtype=bool)
    looks_down[triangles[down]] = True
    clear = np.flatnonzero(looks_up ^ looks_down)[::every]
    if clear.size >= FEW and np.mean(told_apart(points[clear])[0] == looks_up[clear]) < 0.9:
        return None
    # Where a few large triangles hold much of the area, the mesh was thinned: its triangles tell slopes, its points do not.
    looking = area[up | down]
    thinned = looking[looking > 10.0 * np.median(looking)].sum() > 0.2 * looking.sum()
    if thinned or np.count_nonzero(looks_up) < FEW or np.count_nonzero(looks_down) < FEW:
        up, down = up & (np.abs(level) > _LEVEL), down & (np.abs(level) > _LEVEL)
        return [_part(points, triangles[side]) for side in (up, down)]
    sides = []
    for looks, side in ((looks_up, up), (looks_down, down)):
        kept = np.zeros(len(points), dtype=bool)
        candidates = np.flatnonzero(looks)
        kept[candidates[on_face(points[candidates])]] = True
        sides.append(_part(points, triangles[side & kept[triangles].all(axis=1)]))
    return sides


def _part(points: Floats, triangles: Triangles) -> Side:
    """The points of some triangles, and the triangles counted in them."""
    used, renamed = np.unique(triangles, return_inverse=True)
    return points[used], renamed.reshape(-1, 3).astype(np.int64)


def _mesh_face(points: Floats, triangles: Triangles) -> tuple[Face, Floats | None]:
    spacing = spacing_of(points[:, 0], points[:, 1]) if len(points) >= FEW else 0.0
    found = outline_of_triangles(points[:, :2], triangles, spacing)
    return merged(points), None if found is None else corners_of(found)
