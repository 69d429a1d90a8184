"""Scans: faces told apart, sloping live edges left out, outlines found on both faces."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import Polygon, contains_xy
from tests.unit.readings_files import BOTH, live_slab, load, put

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import as_scatter
from slabwright.job.loaded import Readings

STEP = 5.0


def saved(folder: Path, kind: str, points: Any, triangles: Any) -> str:
    import trimesh

    mesh = trimesh.Trimesh(points, triangles, process=False)
    mesh.export(folder / f"slab.{kind}")
    return f"slab.{kind}"


def check_outlines(read: Readings, true_a: Polygon, true_b: Polygon, within: float = 0.01) -> None:
    for corners, true in ((read.outline_a, true_a), (read.outline_b, true_b)):
        assert corners is not None
        found = Polygon(corners)
        assert found.is_valid
        assert found.area == pytest.approx(true.area, rel=within)
        assert found.symmetric_difference(true).area < 1.5 * within * true.area


def check_faces(read: Readings, true_a: Polygon, true_b: Polygon) -> None:
    """Every reading lies on its face, and nearly all of each face was kept."""
    for face, true, low, high in ((read.face_a, true_a, 52, 74), (read.face_b, true_b, -8, 14)):
        places = as_scatter(face)
        assert np.all(contains_xy(true.buffer(1.5), places.x, places.y))
        assert places.z.min() > low and places.z.max() < high
        assert len(places) == pytest.approx((1600 / STEP + 1) * (700 / STEP + 1), rel=0.002)


@pytest.mark.parametrize(("kind", "slant"), [("ply", 20.0), ("ply", -20.0), ("ply", 0.0), ("stl", 20.0), ("obj", 20.0)])
def test_a_mesh_with_live_edges(tmp_path: Path, kind: str, slant: float) -> None:
    points, triangles, true_a, true_b = live_slab(STEP, slant, 0.2)
    read = load(tmp_path, survey=saved(tmp_path, kind, points, triangles))
    assert read.scanned and not read.two_setups
    check_outlines(read, true_a, true_b, within=0.002)
    check_faces(read, true_a, true_b)


def test_a_mesh_wound_inside_out(tmp_path: Path) -> None:
    points, triangles, true_a, true_b = live_slab(STEP, 20.0, 0.2)
    check_outlines(load(tmp_path, survey=saved(tmp_path, "ply", points, triangles[:, ::-1])), true_a, true_b)


def test_a_mesh_wound_without_order_is_read_by_its_points(tmp_path: Path) -> None:
    points, triangles, true_a, true_b = live_slab(STEP, 20.0, 0.2)
    flip = np.random.default_rng(0).random(len(triangles)) < 0.5
    triangles[flip] = triangles[flip][:, ::-1]
    read = load(tmp_path, survey=saved(tmp_path, "ply", points, triangles))
    check_outlines(read, true_a, true_b)
    check_faces(read, true_a, true_b)


def test_a_thinned_mesh_is_read_by_its_triangles(tmp_path: Path) -> None:
    import trimesh

    box = trimesh.creation.box((1000, 400, 50))
    read = load(tmp_path, survey=saved(tmp_path, "stl", box.vertices, box.faces))
    assert read.outline_a is not None
    assert Polygon(read.outline_a).area == pytest.approx(400_000)
    assert sorted(as_scatter(read.face_b).z.tolist()) == [-25.0] * 4


@pytest.mark.parametrize("slant", [20.0, -20.0, 0.0])
def test_strewn_points_with_live_edges(tmp_path: Path, slant: float) -> None:
    import trimesh

    points, triangles, true_a, true_b = live_slab(STEP, slant, 0.2)
    mesh = trimesh.Trimesh(points, triangles, process=False)
    strewn, _ = trimesh.sample.sample_surface(mesh, len(points), seed=3)
    np.save(tmp_path / "s.npy", np.asarray(strewn))
    read = load(tmp_path, survey="s.npy")
    check_outlines(read, true_a, true_b)
    for face, true in ((read.face_a, true_a), (read.face_b, true_b)):
        places = as_scatter(face)
        assert np.mean(contains_xy(true.buffer(2.0), places.x, places.y)) > 0.9995


@pytest.mark.parametrize(
    ("name", "header", "delimiter", "more"),
    [
        ("s.xyz", "", " ", False),
        ("s.csv", "x,y,z", ",", False),
        ("s.txt", "", "\t", True),
        ("s.pts", "x y z", " ", False),
    ],
)
def test_lists_of_points(tmp_path: Path, name: str, header: str, delimiter: str, more: bool) -> None:
    points, _, true_a, true_b = live_slab(STEP, 20.0, 0.2)
    columns = np.column_stack([points, np.full(len(points), 128)]) if more else points
    text = io.StringIO()
    np.savetxt(text, columns, fmt="%.3f", delimiter=delimiter, header=header, comments="")
    read = load(tmp_path, survey=put(tmp_path, name, text.getvalue()))
    check_outlines(read, true_a, true_b)
    check_faces(read, true_a, true_b)


def test_points_of_a_ply(tmp_path: Path) -> None:
    import trimesh

    points, _, true_a, true_b = live_slab(STEP, 20.0, 0.2)
    trimesh.PointCloud(points).export(tmp_path / "s.ply")
    check_outlines(load(tmp_path, survey="s.ply"), true_a, true_b)


def test_a_slab_that_was_scanned_standing_is_laid_flat(tmp_path: Path) -> None:
    points, triangles, true_a, true_b = live_slab(STEP, 20.0, 0.2)
    standing = points[:, [2, 0, 1]] + [300.0, -50.0, 80.0]
    read = load(tmp_path, survey=saved(tmp_path, "ply", standing, triangles))
    assert as_scatter(read.face_a).z.mean() - as_scatter(read.face_b).z.mean() == pytest.approx(60, abs=1)
    for corners, true in ((read.outline_a, true_a), (read.outline_b, true_b)):
        assert corners is not None
        assert Polygon(corners).area == pytest.approx(true.area, rel=0.005)
        assert np.ptp(corners, axis=0) == pytest.approx([1600, np.ptp(true.bounds[1::2])], rel=0.02)


def test_a_slab_that_lies_across_is_turned_along_x(tmp_path: Path) -> None:
    points, triangles, _, _ = live_slab(STEP, 0.0, 0.2)
    read = load(tmp_path, survey=saved(tmp_path, "ply", points[:, [1, 0, 2]] * [-1, 1, 1], triangles))
    assert np.ptp(as_scatter(read.face_a).x) > 1590


def test_a_pit_stays_and_a_stray_bit_does_not(tmp_path: Path) -> None:
    points, _, true_a, _ = live_slab(STEP, 20.0, 0.2)
    pit = (np.hypot(points[:, 0] - 800, points[:, 1] - 350) < 18) & (points[:, 2] > 30)
    assert np.count_nonzero(pit) > 20
    points[pit, 2] -= 12.0
    bit = np.array([[2000.0 + i, 300.0 + j, 60.0] for i in range(0, 40, 5) for j in range(0, 40, 5)])
    np.save(tmp_path / "s.npy", np.vstack([points, bit]))
    read = load(tmp_path, survey="s.npy")
    face = as_scatter(read.face_a)
    lowered = np.hypot(face.x - 800, face.y - 350) < 18
    assert np.count_nonzero(lowered) == np.count_nonzero(pit)
    assert face.z[lowered].max() < 52
    assert face.x.max() < 1700
    assert read.outline_a is not None
    assert Polygon(read.outline_a).area == pytest.approx(true_a.area, rel=0.01)


def test_few_points_are_split_by_height_and_show_no_outline(tmp_path: Path) -> None:
    lines = [f"{x} {y} {z + x / 100}" for x in (0, 400, 800) for y in (0, 300) for z in (0, 45)]
    read = load(tmp_path, survey=put(tmp_path, "s.xyz", "\n".join(lines)))
    assert (len(read.face_a), len(read.face_b), read.outline_a) == (6, 6, None)
    assert as_scatter(read.face_a).z.min() == 45


def test_a_given_outline_goes_before_a_found_one(tmp_path: Path) -> None:
    points, triangles, _, true_b = live_slab(STEP, 20.0, 0.2)
    outline = put(tmp_path, "o.csv", "x,y\n10,60\n1590,60\n1590,640\n10,640\n")
    read = load(tmp_path, survey=saved(tmp_path, "ply", points, triangles), outline_a=outline)
    assert read.outline_a is not None and len(read.outline_a) == 4
    assert read.outline_b is not None
    assert Polygon(read.outline_b).area == pytest.approx(true_b.area, rel=0.005)


@pytest.mark.parametrize(
    ("name", "written", "wrong"),
    [
        ("s.ply", b"ply\nrubbish\x00\xff", "can't be read as PLY"),
        ("s.stl", b"\x01\xff" * 60, "can't be read as STL"),
        ("s.obj", b"v 0 0 zero\n", "can't be read as OBJ"),
        ("s.ply", b"", "the file is empty"),
        ("s.npy", b"\x93NUMPY rubbish", "can't be read as NPY"),
        ("s.xyz", "1 2\n", "the first line is '1,2'; face,x,y,z is wanted"),
        ("s.xyz", "1 2 3\n4 5 6\n7 8 x\n", "s.xyz:3: z is 'x', not a number"),
        ("s.xyz", "1 2 3\n4 5 6\n", "the scan holds 2 points"),
        ("s.xyz", "\n".join(f"{i} 0 {i}" for i in range(900)), "all points of the scan lie in a line"),
        (
            "s.xyz",
            "\n".join(f"{i} {i % 7} 1" for i in range(20)),
            "the scan is 19 mm long, taken in mm; state its unit",
        ),
        ("s.csv", BOTH.replace("face,", ""), "s.csv:1: the first line is 'x,y,z'; face,x,y,z is wanted"),
    ],
)
def test_what_is_no_scan_is_named(tmp_path: Path, name: str, written: str | bytes, wrong: str) -> None:
    with pytest.raises(SlabwrightError) as caught:
        load(tmp_path, survey=put(tmp_path, name, written))
    assert wrong in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("value", "wrong"), [(np.nan, "1 points of the scan are nan or infinite"), (2e5, "lie more than 100 m away")]
)
def test_points_from_nowhere_are_named(tmp_path: Path, value: float, wrong: str) -> None:
    points, _, _, _ = live_slab(20.0, 0.0, 0.2)
    points[7, 1] = value
    np.save(tmp_path / "s.npy", points)
    with pytest.raises(SlabwrightError, match=wrong):
        load(tmp_path, survey="s.npy")


def test_an_array_of_objects_is_not_unpacked(tmp_path: Path) -> None:
    np.save(tmp_path / "s.npy", np.array([{"x": 1}], dtype=object), allow_pickle=True)
    with pytest.raises(SlabwrightError, match="can't be read as NPY"):
        load(tmp_path, survey="s.npy")
