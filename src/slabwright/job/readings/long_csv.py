"""Readings as a list: `face,x,y,z` of both faces, `x,y,z` of one, and `x,y,thickness` of callipers."""

from __future__ import annotations

from typing import NoReturn

import numpy as np

from slabwright.geometry.faces import Face, Floats
from slabwright.job.paths import shown
from slabwright.job.readings.faces import face_of
from slabwright.job.readings.source import Source
from slabwright.job.readings.table import Header, Text, header_of, open_text, read_table

BOTH_FACES = ("face", "x", "y", "z")
ONE_FACE = ("x", "y", "z")
CALLIPERS = ("x", "y", "thickness")


def wrong_header(source: Source, header: Header, wanted: str) -> NoReturn:
    """Raise the error that says which header stands there and which one is wanted."""
    source.fail(f"the first line is {shown(','.join(header.cells), 60)}; {wanted} is wanted.", header.line)


def faces_from_list(text: Text, header: Header) -> dict[str, Face]:
    """The faces of a list `face,x,y,z`, by their letters; a face without readings is not there."""
    table = read_table(text, BOTH_FACES, header.end, header.line + 1)
    faces = {}
    for name, code in (("A", 1.0), ("B", 2.0)):
        rows = np.flatnonzero(table.values[:, 0] == code)
        if rows.size:
            faces[name] = face_of(table, rows, table.values[rows, 1:], name)
    return faces


def face_from_list(text: Text, header: Header, name: str) -> Face:
    """The one face of a list `x,y,z`."""
    table = read_table(text, ONE_FACE, header.end, header.line + 1)
    return face_of(table, np.arange(len(table.values), dtype=np.int64), table.values, name)


def read_callipers(source: Source) -> Floats:
    """Thicknesses read by callipers: x, y, thickness, shape (n, 3) [mm].

    Raises:
        SlabwrightError: another header, or a thickness that is not above zero.
    """
    text = open_text(source)
    header = header_of(text)
    if header.names != CALLIPERS:
        wrong_header(source, header, "x,y,thickness")
    table = read_table(text, CALLIPERS, header.end, header.line + 1)
    thin = np.flatnonzero(table.values[:, 2] <= 0)
    if thin.size:
        source.fail("the thickness is not above zero; write what the callipers show.", table.line(int(thin[0])))
    return table.values
