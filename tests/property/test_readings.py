"""Whatever a file holds, it is read or refused in one line."""

from __future__ import annotations

import io
import math
import tempfile
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import Polygon
from tests.unit.readings_files import BOTH, live_slab, load, put

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import as_scatter
from slabwright.geometry.outlines import signed_area
from slabwright.job.loaded import Readings

OUTLINE = "x,y\n-10,-10\n1010,-10\n1010,510\n-10,510\n"
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="1100mm" viewBox="0 -50 1100 550"><g transform="translate(0 0)">'
    '<path d="M-10 -10 H1010 V510 c-20 5 -40 5 -60 0 a400 400 0 0 1 -300 0 Q 500 530 400 510 L-10 510z"/></g></svg>'
)
GRID = "face A\ny\\x,0,500,1000\n0,50,51,52\n500,53,,55\nface B\ny\\x,0,500,1000\n0,0,1,2\n500,3,4,5\n"
WORDS = [
    "",
    ",",
    "\n",
    "nan",
    "inf",
    "-",
    "1e999",
    "A",
    "B",
    "face",
    '"',
    "#",
    ";",
    "\t",
    "\0",
    "x,y,z\n",
    "1e5",
    "é",
    "\ufeff",
]


@cache
def good(kind: str) -> bytes:
    """A good file of each kind."""
    texts = {"csv": BOTH, "outline": OUTLINE, "svg": SVG, "grid": GRID}
    if kind in texts:
        return texts[kind].encode()
    if kind == "dxf":
        import ezdxf

        document, text = ezdxf.new("R12"), io.StringIO()
        document.modelspace().add_polyline2d([(-10, -10), (1010, -10), (1010, 510), (-10, 510)], close=True)
        document.write(text)
        return text.getvalue().encode()
    import trimesh

    points, triangles, _, _ = live_slab(100.0, 20.0, 0.2)
    exported = trimesh.Trimesh(points, triangles, process=False).export(file_type=kind)
    return exported if isinstance(exported, bytes) else exported.encode()


def read_or_refused(kind: str, data: bytes) -> Readings | None:
    """Read the file in place of a good one: readings that hold together, or None and one line that says why not."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        suffix = {"outline": "csv", "grid": "csv"}.get(kind, kind)
        try:
            if kind in ("outline", "svg", "dxf"):
                read = load(home, survey=put(home, "s.csv", BOTH), outline=put(home, f"o.{suffix}", data))
            else:
                read = load(home, survey=put(home, f"s.{suffix}", data))
        except SlabwrightError as refusal:
            message = str(refusal)
            assert message.isprintable() and len(message) > 20
            assert "job.toml:7" in message
            return None
    for face in (read.face_a, read.face_b):
        places = as_scatter(face)
        assert len(places) >= 3
        for values in (places.x, places.y, places.z):
            assert values.dtype == np.float64 and np.all(np.abs(values) <= 2e5)
    for corners in (read.outline_a, read.outline_b):
        if corners is not None:
            assert Polygon(corners).is_valid
            assert signed_area(corners) > 0
    return read


@pytest.mark.parametrize("kind", ["csv", "outline", "svg", "grid", "dxf", "ply", "stl", "obj"])
def test_good_files_are_read(kind: str) -> None:
    assert read_or_refused(kind, good(kind)) is not None


@pytest.mark.parametrize("kind", ["csv", "outline", "svg", "dxf", "ply", "stl", "obj", "npy", "xyz"])
@settings(max_examples=25, deadline=None)
@given(data=st.binary(max_size=300))
def test_random_bytes(kind: str, data: bytes) -> None:
    read_or_refused(kind, data)


@pytest.mark.parametrize("kind", ["csv", "outline", "svg", "grid", "dxf", "ply", "stl", "obj"])
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_random_edits_of_good_files(kind: str, data: st.DataObject) -> None:
    edited = bytearray(good(kind))
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(edited)))
        length = data.draw(st.integers(0, 20))
        edited[at : at + length] = data.draw(st.binary(max_size=8) | st.sampled_from(WORDS).map(str.encode))
    read_or_refused(kind, bytes(edited))


@settings(max_examples=150, deadline=None)
@given(d=st.text("MmLlHhVvCcSsQqTtAaZz0123456789.-e, ", max_size=60))
@example(d="M0 0A1e300 1e300 0 0 1 1e-300 5L9 9z")
@example(d="M0 0A1e-300 1 0 0 1 100 5L9 900z")
@example(d="M0 0C1e308 1e308 -1e308 0 5 5z")
def test_random_path_data(d: str) -> None:
    read_or_refused("svg", SVG.replace("M-10 -10", f"{d} M-10 -10").encode())


number = st.floats(-90_000, 90_000).map(lambda value: round(value, 3))


@settings(max_examples=100, deadline=None)
@given(
    rows=st.lists(st.tuples(number, number, number), min_size=3, max_size=30, unique_by=lambda row: row[:2]),
    delimiter=st.sampled_from([",", ";", "\t", " , "]),
    ending=st.sampled_from(["\n", "\r\n", "\n\n", "\n# note\n"]),
    quoted=st.booleans(),
)
def test_what_was_written_is_read(
    rows: list[tuple[float, float, float]], delimiter: str, ending: str, quoted: bool
) -> None:
    def written(value: float) -> str:
        text = repr(value) if "," in delimiter else repr(value).replace(".", ",")
        return f'"{text}"' if quoted else text

    lines = [delimiter.join(("x", "y", "z")), *(delimiter.join(map(written, row)) for row in rows)]
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        name = put(home, "s.csv", ending.join(lines) + ending)
        try:
            read = load(home, survey_a=name, survey_b=name)
        except SlabwrightError as refusal:
            assert "lie in a line" in str(refusal)
            x, y = (np.array(rows)[:, :2] - np.array(rows)[:, :2].mean(axis=0)).T
            narrow, wide = np.linalg.eigvalsh(np.cov(np.vstack([x, y])))
            assert narrow <= 1.1e-6 * max(wide, 1e-12) or math.isclose(wide, 0.0)
            return
    places = as_scatter(read.face_a)
    assert sorted(zip(places.x.tolist(), places.y.tolist(), places.z.tolist(), strict=True)) == sorted(rows)
