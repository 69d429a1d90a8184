"""Whatever is filled: amounts add up to the gram, more loss is never less epoxy, no pour is deeper than the sheet allows."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.unit.mended_slab import mended

from slabwright.finish.pours import batch_sizes, layer_count, layers, least_batch, mix, shared_out
from slabwright.job.epoxy_models import Epoxy

grams = st.integers(1, 20_000)
sheets = st.builds(
    Epoxy,
    resin_parts=st.floats(20.0, 400.0),
    hardener_parts=st.floats(20.0, 400.0),
    tint_share=st.floats(0.0, 0.05),
)


@given(grams, sheets)
def test_the_mix_adds_up_to_the_gram(total: int, sheet: Epoxy) -> None:
    weighed = mix(total, sheet)
    assert weighed.resin + weighed.hardener + weighed.tint == total
    assert min(weighed.resin, weighed.hardener, weighed.tint) >= 0
    assert weighed.tint <= sheet.tint_most * (weighed.resin + weighed.hardener) + 1e-6
    assert abs(weighed.resin - (total - weighed.tint) * sheet.resin_share) <= 0.5 + 1e-9


@given(st.integers(1, 20_000), sheets)
def test_from_the_least_batch_on_the_scale_holds_the_ratio(more: int, sheet: Epoxy) -> None:
    weighed = mix(least_batch(sheet) + more, Epoxy(resin_parts=sheet.resin_parts, hardener_parts=sheet.hardener_parts))
    assert weighed.off_ratio <= 0.05


@given(st.floats(0.1, 50_000.0), st.floats(1.0, 5000.0), st.integers(1, 200))
def test_batches_hold_what_is_asked_and_none_is_too_large(asked: float, most: float, least: int) -> None:
    sizes = batch_sizes(asked, most, least)
    assert sum(sizes) >= asked - 1e-6
    assert max(sizes) <= most
    assert max(sizes) - min(sizes) <= 1
    assert sum(batch_sizes(asked * 1.1, most, least)) >= sum(sizes)


@given(
    st.floats(1.0, 1e6),
    st.floats(0.1, 150.0),
    st.floats(0.05, 1.0),
    st.floats(0.0, 5.0),
    st.floats(2.0, 60.0),
)
def test_layers_add_up_and_none_is_deeper_than_the_greatest(
    area: float, depth: float, full: float, overfill: float, greatest: float
) -> None:
    count = layer_count(depth + overfill, greatest)
    found = layers(area * depth * full, area, depth, overfill, count)
    assert len(found) == count
    assert (depth + overfill) / count <= greatest * (1.0 + 1e-8)
    assert sum(found) == pytest.approx(area * (depth * full + overfill))
    # No layer takes more than a prism of its depth would.
    assert max(found) <= area * (depth + overfill) / count * (1.0 + 1e-6)
    assert min(found) >= -1e-6 * area


@given(
    st.lists(st.floats(0.5, 5000.0), min_size=1, max_size=8), st.lists(st.integers(1, 2000), min_size=1, max_size=12)
)
def test_all_of_every_batch_goes_somewhere(wanted: list[float], sizes: list[int]) -> None:
    shares = shared_out(wanted, sizes)
    into = [0.0] * len(wanted)
    for size, parts in zip(sizes, shares, strict=True):
        assert sum(share for _, share in parts) == pytest.approx(1.0, abs=1e-6)
        for place, share in parts:
            into[place] += share * size
    total = sum(sizes)
    assert into == pytest.approx([each / sum(wanted) * total for each in wanted], rel=1e-5, abs=1e-4 * total)


@settings(max_examples=20, deadline=None)
@given(
    st.floats(4.0, 150.0),
    st.one_of(st.just("through"), st.floats(6.0, 45.0)),
    st.floats(0.0, 0.9),
    st.floats(0.0, 0.09),
    st.floats(3.0, 40.0),
)
def test_more_loss_is_never_less_epoxy(
    diameter: float, depth: float | str, loss: float, more: float, greatest: float
) -> None:
    hole = {"kind": "void", "at": [1000, 0], "diameter": diameter, "depth": depth}
    totals = []
    for share in (loss, loss + more):
        shop = {"epoxy": {"leak_loss": share, "greatest_pour": greatest}}
        _, _, resin, _ = mended([hole], shop=shop)
        totals.append(resin.mass)
        assert all(pour.depth <= greatest * (1.0 + 1e-9) for pour in resin.pours)
        for batch in resin.batches:
            assert batch.resin + batch.hardener + batch.tint == batch.grams
        assert resin.mass * 1000.0 >= sum(place.mass for place in resin.places) * 1000.0 - 1e-6
        starts = [batch.start for batch in resin.batches]
        assert starts == sorted(starts)
        assert math.isfinite(resin.wait)
    assert totals[1] >= totals[0]
