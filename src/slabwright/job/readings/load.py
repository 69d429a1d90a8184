"""Everything that a slab's files hold."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Face, Floats
from slabwright.job.loaded import Place, Readings
from slabwright.job.models import ReadingUnit, Slab
from slabwright.job.paths import inside
from slabwright.job.readings.faces import check_above, check_spread
from slabwright.job.readings.long_csv import (
    BOTH_FACES,
    ONE_FACE,
    face_from_list,
    faces_from_list,
    read_callipers,
    wrong_header,
)
from slabwright.job.readings.outline import check_covers, read_outline
from slabwright.job.readings.scan import MESHES, Scan, is_point_list, read_array, read_mesh, read_points
from slabwright.job.readings.source import Source
from slabwright.job.readings.table import header_of, open_text
from slabwright.job.readings.wide_grid import faces_from_grids, is_wide_grid


def load_readings(
    slab: Slab, folder: Path, file: str, where: Mapping[str, Place], keys: Mapping[str, str] | None = None
) -> Readings:
    """Read every file of readings and outlines that a slab names.

    Args:
        slab: what was stated
        folder: the job's folder; files are named relative to it and lie in it
        file: the job file's name, for messages
        where: place of each stated key
        keys: path in `where` of a key that does not stand in `[slab]`: `{"survey": "rereadings[0].survey"}`

    Returns:
        The readings in millimetres.

    Raises:
        SlabwrightError: a file that can't be used: one line naming file, line and key, what is wrong, what would be right.
    """

    def place(path: str) -> str:
        found = where.get(path)
        return f"{found.file}:{found.line}" if found else file

    def source(name: str, unit: ReadingUnit) -> Source | None:
        stated: str | None = getattr(slab, name)
        if stated is None:
            return None
        path = (keys or {}).get(name, f"slab.{name}")
        return Source(inside(folder, stated, f"{place(path)}: {path}"), stated, f"{path}, {place(path)}", unit)

    units = slab.survey_units or "mm"
    both, first, second = source("survey", units), source("survey_a", units), source("survey_b", units)
    scan = _scan(both) if both is not None else None
    if both is not None:
        faces = scan.faces if scan else _both_faces(both)
        named = {"A": both, "B": both}
    elif first is not None and second is not None:
        faces = {"A": _one_face(first, "A"), "B": _one_face(second, "B")}
        named = {"A": first, "B": second}
    else:
        raise SlabwrightError(
            f"{place('slab')}: slab: no readings are named; give survey, or survey_a and survey_b with callipers"
        )

    for name, face in faces.items():
        check_spread(named[name], face, name)
    if both is not None:
        check_above(both, faces["A"], faces["B"])

    outlines = _outlines(
        [source(name, slab.outline_units or units) for name in ("outline", "outline_a", "outline_b")],
        faces,
        two_setups=both is None,
    )
    if scan is not None:
        outlines = {name: scan.outlines[name] if found is None else found for name, found in outlines.items()}
    callipers = source("callipers", units)
    return Readings(
        face_a=faces["A"],
        face_b=faces["B"],
        outline_a=outlines["A"],
        outline_b=outlines["B"],
        callipers=np.empty((0, 3)) if callipers is None else read_callipers(callipers),
        two_setups=both is None,
        scanned=scan is not None,
    )


def _scan(source: Source) -> Scan | None:
    """The slab of a scan, or None where the file holds faces that are named."""
    kind = source.path.suffix.lower()
    if kind in MESHES:
        return read_mesh(source)
    if kind == ".npy":
        return read_array(source)
    text = open_text(source)
    return read_points(text) if is_point_list(text, header_of(text)) else None


def _both_faces(source: Source) -> dict[str, Face]:
    text = open_text(source)
    header = header_of(text)
    if header.names == BOTH_FACES:
        faces = faces_from_list(text, header)
    elif is_wide_grid(header):
        faces = faces_from_grids(text)
        if "" in faces:
            source.fail(
                "the grid does not say its face; head each face's grid by a line face A or face B.", header.line
            )
    else:
        wrong_header(source, header, "face,x,y,z")
    for name, other in (("A", "B"), ("B", "A")):
        if name not in faces:
            source.fail(
                f"only face {other} was read; read face {name} as well in the same frame, or give survey_a and survey_b of two"
                " set-ups with callipers."
            )
    return faces


def _one_face(source: Source, name: str) -> Face:
    text = open_text(source)
    header = header_of(text)
    if header.names == ONE_FACE:
        return face_from_list(text, header, name)
    if not is_wide_grid(header):
        wrong_header(source, header, r"x,y,z (or a wide grid: y\x,0,50,100)")
    faces = faces_from_grids(text)
    if set(faces) - {"", name}:
        source.fail(f"the file holds a grid of the other face; survey_{name.lower()} is for face {name} alone.")
    return faces.get("") or faces[name]


def _outlines(sources: list[Source | None], faces: dict[str, Face], *, two_setups: bool) -> dict[str, Floats | None]:
    """Outlines by face: of both faces first, then of single ones, which go before it."""
    found: dict[str, Floats | None] = {"A": None, "B": None}
    for source, names in zip(sources, ("AB", "A", "B"), strict=True):
        if source is None:
            continue
        corners = read_outline(source)
        for name in names:
            found[name] = corners
            # Face B of a second set-up is still in its own frame, the outlines are not.
            if not (two_setups and name == "B"):
                check_covers(source, corners, faces[name], name)
    return found
