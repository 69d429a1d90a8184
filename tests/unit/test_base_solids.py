"""Hidden faces are taken out exactly: what is left is what a line of sight meets first, everywhere and once."""

from __future__ import annotations

from typing import Any, get_args

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon

from slabwright.base.kinds import Drawn, draw_free
from slabwright.base.stability import base_structure
from slabwright.base.stiffness import TopOn
from slabwright.geometry.faces import Floats
from slabwright.job.base_models import Base, BaseKind
from slabwright.sheets.base_solids import Face, facing, foremost, isometric, solids, visible

KINDS = get_args(BaseKind)
TOP = TopOn(2200.0, 900.0, (44.0, 45.0, 46.0), 8.0, 620.0, 11_600.0, 0.55)
SIGHT = isometric()


def stated(**keys: Any) -> Base:
    return Base.model_validate(keys, context={"units": "metric"})


def round_table() -> Drawn:
    """Three round posts, two rails of angle."""
    posts = {"a": (-300, -200), "b": (300, -150), "c": (0, 250)}
    nodes = [{"name": f"{name} foot", "at": [x, y, 0], "stands": True} for name, (x, y) in posts.items()]
    nodes += [{"name": name, "at": [x, y, 700], "bolt": True, "slides": False} for name, (x, y) in posts.items()]
    members = [{"first": f"{name} foot", "last": name} for name in posts]
    members += [{"first": a, "last": b, "section": "angle 50x50x5"} for a, b in ("ab", "bc")]
    return draw_free(stated(nodes=nodes, members=members, tube="round tube 60.3x3"), "metric")


def drawn_as(kind: str) -> Drawn:
    if kind == "free frame":
        return round_table()
    return base_structure(stated(stretcher="40x40x3"), kind, 740.0, TOP).drawn  # type: ignore[arg-type]


def first_met(faces: list[Face], place: tuple[float, float]) -> Face | None:
    """The face that a line of sight meets first, by going through all of them."""
    found: tuple[float, Face] | None = None
    line = place[0] * SIGHT.right + place[1] * SIGHT.up
    for face in faces:
        far = float(face.normal @ (face.corners[0] - line)) / float(face.normal @ SIGHT.to_viewer)
        if Polygon(SIGHT.flat(face.corners)).contains(Point(place)) and (found is None or far > found[0]):
            found = (far, face)
    return found[1] if found else None


@pytest.mark.parametrize("kind", [*KINDS, "free frame"])
def test_what_is_seen_is_what_a_line_of_sight_meets_first(kind: str) -> None:
    faces = solids(drawn_as(kind))
    front, seen = facing(faces, SIGHT), visible(faces, SIGHT)
    shadow = shapely.union_all([Polygon(SIGHT.flat(face.corners)) for face in front])
    assert sum(surface.shape.area for surface in seen) == pytest.approx(shadow.area, rel=2e-3)
    edges = shapely.union_all([surface.shape.boundary for surface in seen])
    rng = np.random.default_rng(3)
    x0, y0, x1, y1 = shadow.bounds
    places: Floats = rng.uniform([x0, y0], [x1, y1], (1500, 2))
    met = 0
    for place in places.tolist():
        point = Point(place)
        if edges.distance(point) < 1.0 or not shadow.contains(point):
            continue
        here = [surface for surface in seen if surface.shape.contains(point)]
        first = first_met(front, (place[0], place[1]))
        assert first is not None and len(here) == 1
        assert here[0].kind == first.kind
        assert first.smooth is not None or here[0].normal == pytest.approx(first.normal, abs=1e-6)
        assert foremost(faces, SIGHT, (place[0], place[1])) == first.owner
        met += 1
    assert met > 40


def test_a_corner_of_two_tubes_is_one_solid() -> None:
    """Tubes run on to each other's outside, so that a mitred corner has no seam in its flat faces."""
    faces = solids(base_structure(stated(), "U legs", 740.0, TOP).drawn)
    ends = [surface for surface in visible(faces, SIGHT) if surface.kind == "steel" and surface.normal[0] < -0.9]
    assert [surface.shape.geom_type for surface in ends] == ["Polygon", "Polygon"]  # one U at either end


def test_a_leaning_leg_is_cut_level() -> None:
    drawn = base_structure(stated(), "trestles", 740.0, TOP).drawn
    legs = [face for face in solids(drawn) if "upright" in face.owner]
    foot = min(float(face.corners[:, 2].min()) for face in legs)
    assert foot == pytest.approx(drawn.foot_length)
    assert any(np.ptp(face.corners[:, 2]) < 1e-9 and face.corners[0, 2] == pytest.approx(foot) for face in legs)
