"""Clearances against a distance check by hand on random layouts, and remedies that hold on crowded ones."""

from __future__ import annotations

import numpy as np
from bench.layout import THICKNESS, apart_by_hand, greatest_miss, live_outline, random_features
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity

from slabwright.job.top_models import Top
from slabwright.top import clearance_rules as rule
from slabwright.top.clearances import clearances
from slabwright.top.layout import layout
from slabwright.top.layout_findings import layout_findings
from slabwright.top.moving import Trial


@settings(max_examples=60, deadline=None)
@given(st.integers(10_000, 10**9), st.integers(2, 12), st.sampled_from([30.0, 200.0, 1e4]))
def test_clearances_equal_a_check_of_every_piece_against_every_other(seed: int, count: int, reach: float) -> None:
    rng = np.random.default_rng(seed)
    placed = layout(Top.model_validate({"features": random_features(rng, count)}), live_outline(rng), THICKNESS)
    worst, compared = greatest_miss(placed, reach)
    assert worst <= 1e-6 and compared >= count


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**9))
def test_a_free_place_is_free_by_hand(seed: int) -> None:
    rng = np.random.default_rng(seed)
    outline = live_outline(rng)
    placed = layout(Top.model_validate({"features": random_features(rng, 10)}), outline, THICKNESS)
    found = clearances(placed)
    trial = Trial(placed, found, "metric")
    asked = placed.top.clearances
    for clash in found:
        if clash.holds or clash.rule not in (rule.BETWEEN, rule.EDGE):
            continue
        move = trial.free_place(clash.first)
        if move is None:
            continue
        after = trial.changed(move.changes)
        one = after.named(clash.first)
        assert all(solid.shape().within(outline) for solid in one.solids)
        for other in after.features:
            if other.name != one.name and (one.name, other.name) not in after.meant:
                assert apart_by_hand(one.solids, other.solids) >= asked.between - 1e-6


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**9), st.sampled_from(["metric", "inch"]))
def test_every_clash_is_told_with_a_remedy(seed: int, units: str) -> None:
    rng = np.random.default_rng(seed)
    features = random_features(rng, 9)
    placed = layout(Top.model_validate({"features": features}), live_outline(rng), rng.uniform(12.0, 60.0))
    found = clearances(placed)
    told = layout_findings(placed, found, units)  # type: ignore[arg-type]
    assert len([one for one in told if "corner" not in one.code and "itself" not in one.code]) == len(
        [one for one in found if not one.holds and one.rule != rule.BOLT_END]
    )
    assert all(one.message.endswith(".") and one.remedy.endswith(".") and "  " not in one.message for one in told)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**9), st.booleans())
def test_a_mirrored_top_has_the_same_clearances(seed: int, shown: bool) -> None:
    rng = np.random.default_rng(seed)
    outline = live_outline(rng)
    features = [one for one in random_features(rng, 8) if one["kind"] not in ("channel", "key", "outlet", "pocket")]
    mirrored = [
        one | {"across": -one["across"], "face": {"show": "underside", "underside": "show"}[one["face"]]}
        for one in features
    ]
    other: Polygon = affinity.scale(outline, yfact=-1.0, origin=(0, 0))
    first = clearances(layout(Top.model_validate({"features": features}), outline, THICKNESS))
    second = clearances(layout(Top.model_validate({"features": mirrored}), other, THICKNESS))
    np.testing.assert_allclose([one.distance for one in first], [one.distance for one in second], atol=1e-6)
