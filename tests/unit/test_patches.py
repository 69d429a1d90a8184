"""The separate patches of a chosen fill, and what is said about them."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from shapely import Point, box

from slabwright.accounts import accounts
from slabwright.geometry.faces import Grid, as_scatter
from slabwright.geometry.planes import PlanePair
from slabwright.job.models import Epoxy, Fill
from slabwright.slab.fill_checks import front_findings
from slabwright.slab.patch import FrontPoint
from slabwright.slab.patches import Specks, find_patches, letters, patch_front, patches

REGION = box(0, 0, 1200, 500)
LEVEL = PlanePair(0.0, 0.0, 50.0, 0.0)
POINT = FrontPoint(1.0, 1.0, 50.0, 50.0, 1.0, 1.0, LEVEL)
EPOXY = Epoxy(greatest_pour=20.0, density=1.1, waste=0.15)


def board(spacing: float = 5.0) -> Grid:
    x, y = np.arange(0, 1200 + spacing / 2, spacing), np.arange(0, 500 + spacing / 2, spacing)
    return Grid(x, y, np.full((len(x), len(y)), 51.0))


def bowl(face: Grid, x: float, y: float, reach: float, depth: float) -> Grid:
    """Press a paraboloid into the face that is so deep below 50 mm and meets that height at so far from its middle."""
    away = ((face.x[:, None] - x) ** 2 + (face.y[None, :] - y) ** 2) / reach**2
    return Grid(face.x, face.y, np.minimum(face.z, 50.0 - depth * (1.0 - away)))


def test_bowls_are_told_apart_named_by_size_and_measured() -> None:
    face = bowl(bowl(board(), 300, 200, 60, 4.0), 800, 250, 100, 6.0)
    large, small = patches(face, REGION, POINT, "A", 0.0, EPOXY)
    assert (large.name, small.name) == ("A", "B")
    assert (large.x, large.y) == pytest.approx((800, 250), abs=0.5)
    assert large.area == pytest.approx(np.pi * 100**2, rel=0.02)
    assert large.outline.area == pytest.approx(np.pi * 100**2, rel=0.01)
    # A paraboloid holds half of the cylinder around it.
    assert large.volume == pytest.approx(0.5 * np.pi * 100**2 * 6.0, rel=0.01)
    assert large.volume == large.missing
    assert large.depth == pytest.approx(6.0)
    assert large.resin == pytest.approx(large.volume * 1e-6 * 1.1 * 1.15)
    assert not (large.meets_edge or large.hole)
    assert large.pours == 1
    assert Point(300, 200).within(small.outline)


def test_shallow_rims_are_undercut_to_the_least_depth() -> None:
    face = bowl(board(), 600, 250, 100, 6.0)
    (plain,) = patches(face, REGION, POINT, "A", 0.0, EPOXY)
    (cut,) = patches(face, REGION, POINT, "A", 3.0, EPOXY)
    # Half of the area is shallower than half the depth; there 3 mm stands for a mean of 1.5 mm.
    assert cut.volume == pytest.approx(0.5 * np.pi * 100**2 * (3.0 + 4.5), rel=0.01)
    assert cut.missing == plain.missing
    (thin,) = patches(bowl(board(), 600, 250, 100, 1.0), REGION, POINT, "A", 3.0, EPOXY)
    assert thin.depth == 3.0


def test_a_patch_at_an_edge_wants_a_dam() -> None:
    for x, y in ((0.0, 250.0), (1200.0, 250.0), (600.0, 0.0), (600.0, 500.0)):
        (patch,) = patches(bowl(board(), x, y, 80, 4.0), REGION, POINT, "A", 3.0, EPOXY)
        assert patch.meets_edge
        assert patch.outline.area == pytest.approx(0.5 * np.pi * 80**2, rel=0.02)


def test_a_hole_and_its_pours() -> None:
    face = bowl(board(), 600, 250, 100, 52.0)
    (patch,) = patches(face, REGION, POINT, "A", 3.0, EPOXY)
    assert patch.hole
    assert patch.pours == 3


def test_specks_are_added_up_not_listed() -> None:
    face = bowl(board(), 600, 250, 100, 6.0)
    z = face.z.copy()
    z[10, 10] = z[20, 20] = 49.0
    fine = Grid(face.x * 0.9, face.y * 0.9, z)
    found, specks = find_patches(fine, box(0, 0, 1080, 450), POINT, "A", 3.0, EPOXY)
    assert len(found) == 1
    assert specks.count == 2
    assert specks.area == pytest.approx(2 * 4.5**2)
    assert specks.volume == pytest.approx(2 * 4.5**2)


def test_face_b_shown() -> None:
    face = bowl(board(), 600, 250, 100, 6.0)
    under = Grid(face.x, face.y, 50.0 - face.z)
    (patch,) = patches(under, REGION, POINT, "B", 0.0, EPOXY)
    assert patch.depth == pytest.approx(6.0)
    assert (patch.x, patch.y) == pytest.approx((600, 250), abs=0.5)


def test_outlines_lie_in_the_frame_of_the_tilted_seat() -> None:
    flat = bowl(board(), 900, 250, 100, 6.0)
    tilted = Grid(flat.x, flat.y, flat.z + 0.02 * flat.x[:, None])
    point = dataclasses.replace(POINT, planes=PlanePair(0.02, 0.0, 50.0, 0.0))
    (patch,) = patches(tilted, REGION, point, "A", 0.0, EPOXY)
    place = point.planes.to_seat(np.array([900.0, 250.0, 68.0]))
    assert (patch.x, patch.y) == pytest.approx(place[:2], abs=0.3)
    assert (patch.outline.centroid.x, patch.outline.centroid.y) == pytest.approx(place[:2], abs=0.3)


@pytest.mark.parametrize("scattered", [False, True])
def test_the_patches_hold_the_volume_of_the_front(scattered: bool) -> None:
    draw = np.random.default_rng(8)
    face = bowl(bowl(bowl(board(8.0), 250, 120, 120, 5.0), 900, 300, 90, 7.0), 1180, 480, 70, 3.0)
    top = Grid(face.x, face.y, face.z + draw.normal(0, 0.05, face.z.shape))
    under = Grid(face.x, face.y, draw.normal(0, 0.05, face.z.shape))
    show, below = (as_scatter(top), as_scatter(under)) if scattered else (top, under)
    points = patch_front(show, below, REGION, PlanePair(0, 0, 42.9, 0.3))
    for point in points[18:27:3]:
        found, specks = find_patches(show, REGION, point, "A", 3.0, EPOXY)
        held = sum(patch.missing for patch in found) + specks.volume
        assert held == pytest.approx(point.fill_volume, rel=0.06 if scattered else 1e-4)


def test_few_readings_are_joined_by_straight_lines() -> None:
    x, y = np.linspace(0, 1200, 7), np.linspace(0, 500, 5)
    z = np.full((7, 5), 51.0)
    z[3, 2] = 47.0
    (patch,) = patches(Grid(x, y, z), REGION, POINT, "A", 0.0, EPOXY)
    assert (patch.x, patch.y) == pytest.approx((600, 250), abs=2.0)
    assert patch.depth == pytest.approx(3.0, abs=0.3)
    # Bilinear: 4 (1 - u)(1 - v) > 1 in each of four quarters of 200 by 125 mm.
    assert patch.area == pytest.approx(4 * 25_000 * (0.75 - 0.25 * np.log(4)), rel=0.02)
    assert patch.volume == pytest.approx(4 * 25_000 * (0.1875 + 0.125 * np.log(4)), rel=0.02)


def test_no_fill_has_no_patches() -> None:
    assert find_patches(board(), REGION, dataclasses.replace(POINT, fill_volume=0.0), "A", 3.0, EPOXY) == (
        (),
        Specks(0, 0.0, 0.0),
    )


def test_letters_go_on_after_z() -> None:
    assert [letters(number) for number in (0, 25, 26, 27, 702)] == ["A", "Z", "AA", "AB", "AAA"]


def test_what_is_said_about_a_hole_offers_a_point_without_one() -> None:
    face = bowl(bowl(board(), 600, 250, 100, 52.0), 100, 0, 60, 2.0)
    points = (
        FrontPoint(0.0, 0.0, 44.0, 44.0, 0.0, 0.0, LEVEL),
        FrontPoint(1.0, 1.0, 47.0, 47.0, 40.0, 1.0, LEVEL),
        POINT,
        dataclasses.replace(POINT, deepest=52.0),
    )
    points = (*points[:2], dataclasses.replace(POINT, thickness=49.0, deepest=50.0), points[3])
    found, specks = find_patches(face, REGION, points[3], "A", 3.0, EPOXY)
    said = {check.code: check for check in front_findings(points, 3, found, specks, Fill(), "metric")}
    assert set(said) == {"slab/fill-hole", "slab/fill-sign-off", "slab/fill-dam"}
    assert said["slab/fill-hole"].severity == "caution"
    assert "Point 1" in said["slab/fill-hole"].remedy
    assert "47 mm" in said["slab/fill-hole"].remedy
    assert "Patch B is" in said["slab/fill-dam"].message
    agreed = front_findings(points, 3, found, Specks(3, 40.0, 10.0), Fill(client_agrees=True), "inch")
    assert {check.code for check in agreed} == {"slab/fill-hole", "slab/fill-dam", "slab/fill-specks"}
    refused = front_findings(points, 3, found, specks, Fill(client_agrees=False), "metric")
    assert [check.severity for check in refused if check.code == "slab/fill-sign-off"] == ["stop"]
    assert front_findings(points, 0, (), specks, Fill(), "metric") == ()


def test_every_figure_says_how_it_comes_about() -> None:
    found = patches(bowl(board(), 600, 250, 100, 6.0), REGION, POINT, "A", 3.0, EPOXY)
    for account in accounts({"patch_front": (POINT,), "patches": found}):
        assert account.description.meaning
        assert account.description.how
