"""Where features come to lie: as a drawing dimensions them, in depth, and which are cut into each other on purpose."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from shapely import Polygon, box

from slabwright.accounts import accounts, as_plain
from slabwright.findings import SlabwrightError
from slabwright.job.top_models import Top
from slabwright.top.channel_path import crossing, least_bend, rounded
from slabwright.top.feature_shapes import Edges
from slabwright.top.layout import layout, positions
from slabwright.top.layout_results import Layout
from slabwright.top.slots import PocketRoom

OUTLINE = box(0.0, -400.0, 2000.0, 400.0)
WEDGE = Polygon([(0, -300), (2000, -500), (2000, 400), (0, 400)])
PLATE = {
    "kind": "pocket",
    "name": "plate",
    "length": 100,
    "width": 500,
    "depth": 8,
    "along_from": "left end",
    "along": 300,
}
BOLT = {"kind": "insert", "name": "bolt", "drill": 12, "depth": 25, "along_from": "plate", "across_from": "plate"}


def hole(name: str, **more: Any) -> dict[str, Any]:
    return {"kind": "through hole", "name": name, "diameter": 20} | more


def top(*features: dict[str, Any], **more: Any) -> Top:
    return Top.model_validate({"features": list(features), **more})


def laid(*features: dict[str, Any], outline: Polygon = OUTLINE, thickness: float = 50.0, **more: Any) -> Layout:
    return layout(top(*features, **more), outline, thickness)


@pytest.mark.parametrize(
    ("stated", "place"),
    [
        ({}, (1000, 0)),
        ({"along": -120}, (880, 0)),
        ({"along_from": "left end", "along": 120}, (120, 0)),
        ({"along_from": "right end", "along": 120, "across": 40}, (1880, 40)),
        ({"along_from": "left end", "along": 500, "across_from": "near edge", "across": 60}, (500, -350 + 60)),
        ({"along_from": "right end", "along": 500, "across_from": "near edge", "across": 60}, (1500, -450 + 60)),
        ({"across_from": "far edge", "across": 60}, (1000, 340)),
    ],
)
def test_a_place_is_dimensioned_from_ends_middle_centre_line_and_edges(
    stated: dict[str, Any], place: tuple[float, float]
) -> None:
    assert positions(top(hole("h", **stated)), WEDGE)["h"] == pytest.approx(place)


def test_a_live_edge_counts_where_the_feature_is() -> None:
    x = np.linspace(0, 2000, 41)
    near = np.column_stack([x, -400 + 30 * np.sin(x / 100)])
    live = Polygon([*near, (2000, 400), (0, 400)])
    at = positions(top(hole("h", along_from="left end", along=725, across_from="near edge", across=100)), live)
    assert at["h"] == pytest.approx((725, np.interp(725, x, near[:, 1]) + 100))


def test_features_hang_on_each_other_in_any_order() -> None:
    at = positions(
        top(
            hole("c", along_from="b", along=10, across_from="a", across=5),
            hole("b", along_from="a", along=-30, across=7),
            hole("a", along_from="left end", along=400, across=-100),
        ),
        OUTLINE,
    )
    assert at == {"a": (400, -100), "b": (370, 7), "c": (380, -95)}


@pytest.mark.parametrize(
    ("features", "words"),
    [
        ([hole("a", along_from="b"), hole("b", along_from="a")], r"features\[\d\]\.along_from: .*comes back to itself"),
        ([hole("a", across_from="a")], r"features\[0\]\.across_from: 'a' is dimensioned from 'a', itself"),
        (
            [hole("a", along_from="b"), hole("b", along_from="c"), hole("c", along_from="c")],
            r"features\[2\]\.along_from: 'c' is dimensioned from 'c', itself",
        ),
        ([hole("a", along_from="left edn")], "did you mean 'left end'"),
        ([PLATE, hole("a", across_from="plat")], r"features\[1\].*did you mean 'plate'"),
        (
            [
                {"kind": "channel", "name": "c", "path": [[9, 9], [99, 9]], "width": 9, "depth": 9},
                hole("a", along_from="c"),
            ],
            "'c', which has no middle",
        ),
        ([PLATE, BOLT | {"plate": "plat"}], r"features\[1\]\.plate: .*did you mean 'plate'"),
        ([hole("a"), BOLT | {"along_from": "middle", "across_from": "a", "plate": "a"}], "which has no plate"),
        ([PLATE, BOLT | {"plate": "plate", "face": "show"}], "lies in the other face"),
    ],
)
def test_what_is_dimensioned_from_nothing_is_refused_with_its_key(features: list[dict[str, Any]], words: str) -> None:
    with pytest.raises(SlabwrightError, match=words):
        laid(*features)


def test_no_wood_is_refused() -> None:
    with pytest.raises(SlabwrightError, match="thickness"):
        laid(hole("a"), thickness=0.0)


@pytest.mark.parametrize(
    "wrong",
    [
        PLATE | {"length": -1},
        hole("left end"),
        {"kind": "outlet", "name": "o", "diameter": 60, "recess_diameter": 50, "recess_depth": 5},
        {"kind": "key", "name": "k", "length": 60, "width": 20, "waist": 30, "depth": 9},
        {"kind": "bar", "name": "b", "length": 60, "width": 20, "height": 30, "depth": 9, "section": "angle"},
    ],
)
def test_sizes_that_mean_nothing_are_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValueError):
        top(wrong)


def test_depths_from_the_final_thickness() -> None:
    placed = laid(
        PLATE,
        BOLT | {"plate": "plate"},
        {"kind": "key", "name": "key", "length": 80, "width": 30, "waist": 18, "depth": 12, "across": 100},
        {"kind": "outlet", "name": "out", "diameter": 60, "recess_diameter": 80, "recess_depth": 20, "across": -200},
        hole("through", along=300),
        {"kind": "round", "name": "soft", "size": 6},
        thickness=52.0,
    )
    told = {one.name: (one.upper, one.lower, one.depth, one.wood_left) for one in placed.features}
    assert told["plate"] == (44, 52, 8, 44)
    assert told["bolt"] == (19, 44, 33, 19)
    assert told["key"] == (0, 12, 12, 40)
    assert told["out"] == (0, 52, 52, 32)
    assert told["through"] == (0, 52, 52, None)
    assert told["soft"] == (0, 6, 6, None)
    assert placed.named("bolt").lies_in == "plate" and placed.named("plate").wood_asked == pytest.approx(52 * 2 / 3)


def test_a_hole_beside_the_pocket_starts_at_its_face() -> None:
    placed = laid(PLATE, BOLT | {"along": 200})
    assert placed.named("bolt").lies_in is None and placed.named("bolt").wood_left == 25


def test_a_pocket_is_as_wide_as_its_room() -> None:
    room = PocketRoom("plate", 4.0, 2.0, 5.0, 110.0, 506.0, -1.0)
    wide = layout(top(PLATE), OUTLINE, 50.0, [room]).named("plate")
    assert (wide.length, wide.width) == (110, 506)
    assert wide.shape().bounds == pytest.approx((245, -254, 355, 252))
    plain = laid(PLATE).named("plate")
    assert plain.length == pytest.approx(100 + 25.4 / 4) and plain.width == pytest.approx(500 + 2 * (0.5 + 0.15))


def test_a_key_is_drawn_with_its_waist_and_turn() -> None:
    key = {"kind": "key", "name": "k", "length": 80, "width": 30, "waist": 18, "depth": 9}
    across, along = laid(key).named("k"), laid(key | {"turn": 0}).named("k")
    assert (across.length, across.width) == pytest.approx((30, 80))
    assert (along.length, along.width) == pytest.approx((80, 30))
    assert along.shape().area == pytest.approx(80 * (30 + 18) / 2)


CABLE = {"kind": "channel", "name": "cable", "path": [[300, 0], [900, 0], [900, 200]], "width": 20, "depth": 15}
OUT = {"kind": "outlet", "name": "out", "diameter": 60, "recess_diameter": 80, "recess_depth": 20}
OUT |= {"along_from": "left end", "along": 900, "across": 200}


def test_channels_join_what_their_cables_go_to() -> None:
    placed = laid(PLATE, CABLE, OUT, OUT | {"name": "on the way", "along": 600, "across": 10}, OUT | {"name": "off"})
    assert ("cable", "out") in placed.meant and ("plate", "cable") in placed.meant
    assert ("cable", "on the way") in placed.meant
    assert ("cable", "beside") not in laid(CABLE, OUT | {"name": "beside", "along": 600, "across": 45}).meant


def test_the_plan_shows_plain_figures_that_say_why() -> None:
    placed = laid(PLATE, BOLT, CABLE)
    shown = as_plain(placed)
    assert {"name", "kind", "face", "along", "across", "depth", "wood_left"} <= set(shown["features"][0])
    assert "solids" not in shown["features"][0] and "outline" not in shown
    assert all(one.description.meaning for one in accounts(placed, "top.layout"))


def test_the_four_edges_make_up_the_outline() -> None:
    for outline in (OUTLINE, WEDGE, Polygon([(0, 400), (0, -300), (2000, -500), (2000, 400)])):
        lines = Edges(outline).lines()
        assert sum(line.length for line in lines.values()) == pytest.approx(outline.length)
        assert lines["left end"].bounds[::2] == (0, 0) and lines["right end"].bounds[::2] == (2000, 2000)
        assert lines["near edge"].bounds[3] < lines["far edge"].bounds[1]


def test_rounded_corners_keep_their_radius_and_side() -> None:
    for way in ([[0, 0], [100, 0], [100, 100]], [[0, 0], [100, 0], [100, -100]], [[0, 0], [80, 60], [160, 0]]):
        path = np.array(way, dtype=float)
        line = rounded(path, 30.0)
        before, after = path[1] - path[0], path[2] - path[1]
        turn = abs(math.atan2(before[0] * after[1] - before[1] * after[0], before @ after))
        cut = 30.0 * math.tan(turn / 2)
        length = np.hypot(*np.diff(line, axis=0).T).sum()
        assert length == pytest.approx(np.hypot(*before) + np.hypot(*after) - 2 * cut + 30.0 * turn, rel=1e-4)
        assert tuple(line[0]) == tuple(path[0]) and tuple(line[-1]) == tuple(path[-1])


def test_a_corner_is_rounded_as_far_as_its_legs_go() -> None:
    line = rounded(np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 30.0]]), 500.0)
    assert line[:, 0].max() <= 40.0 + 1e-9 and tuple(line[-1]) == pytest.approx((40.0, 30.0))


@pytest.mark.parametrize(
    ("path", "legs"),
    [
        ([[0, 0], [100, 0], [100, 50], [50, 50], [50, -50]], (0, 3)),
        ([[0, 0], [100, 0], [40, 0]], (0, 1)),
        ([[0, 0], [100, 0], [100, 50], [50, 0]], (0, 2)),
        ([[0, 0], [100, 0], [100, 50], [50, 50]], None),
        ([[0, 0], [100, 0]], None),
    ],
)
def test_a_path_that_crosses_itself_is_found(path: list[list[float]], legs: tuple[int, int] | None) -> None:
    assert crossing(np.array(path, dtype=float)) == legs


def test_a_cable_that_fills_its_channel_bends_about_the_inner_corner() -> None:
    corner = np.array([[0.0, 0.0], [500.0, 0.0], [500.0, 500.0]])
    assert least_bend(corner, 10.0, 10.0, 0.0) == pytest.approx((0.0, 1))
    found = least_bend(corner, 10.0, 10.0, 45.0)
    assert found is not None and found[0] == pytest.approx(40.0)
    assert least_bend(corner[:2], 10.0, 10.0, 0.0) is None


@pytest.mark.parametrize(
    ("width", "cable", "radius"), [(20.0, 8.0, 0.0), (20.0, 8.0, 40.0), (30.0, 5.0, 6.0), (12.0, 10.0, 3.0)]
)
@pytest.mark.parametrize("turn", [30.0, 60.0, 90.0, 120.0])
def test_the_bend_told_lies_in_the_channel(width: float, cable: float, radius: float, turn: float) -> None:
    """The cable, laid as an arc between straights at the bend that is told, stays inside what is cut; a tenth more does not."""
    from shapely import LineString

    angle = math.radians(turn)
    path = np.array([[-1000.0, 0.0], [0.0, 0.0], [1000.0 * math.cos(angle), 1000.0 * math.sin(angle)]])
    found = least_bend(path, width, cable, radius)
    assert found is not None
    cut = LineString(rounded(path, radius)).buffer(width / 2.0, quad_segs=64)
    play = (width - cable) / 2.0
    apex = np.array([play * math.tan(angle / 2.0), -play])
    ends = [apex - np.array([990.0, 0.0]), apex, apex + 990.0 * np.array([math.cos(angle), math.sin(angle)])]

    def outside(inner: float) -> float:
        line = LineString(rounded(np.array(ends), inner + cable / 2.0))
        near = line.buffer(cable / 2.0, quad_segs=64).intersection(box(-500, -500, 500, 500))
        return float(near.difference(cut).area)

    assert outside(found[0]) < 0.06 * cable
    assert outside(1.1 * found[0] + 1.0) > outside(found[0]) + 0.02
