from __future__ import annotations

import pytest

from slabwright.geometry.planes import PlanePair
from slabwright.job.models import Fill, ShopFile
from slabwright.slab.patch import FrontPoint
from slabwright.slab.ways import WaysInput, knee, ways, windows

FLAT = PlanePair(0.0, 0.0, 50.0, 0.0)
SHOP = ShopFile()


def point(volume: float, thickness: float) -> FrontPoint:
    return FrontPoint(
        fill_area=volume / 3.0,
        fill_volume=volume,
        thickness=thickness,
        bound=thickness,
        deepest=4.0,
        price_area=1.0,
        planes=FLAT,
    )


FRONT = tuple(point(volume, thickness) for volume, thickness in ((0.0, 50.0), (2e4, 53.0), (1e5, 54.0), (1e6, 55.0)))
OTHER = tuple(point(volume, thickness) for volume, thickness in ((0.0, 50.0), (1e6, 50.6)))


def given(needed: float | None = None, **more: object) -> WaysInput:
    figures: dict[str, object] = {
        "thickness": 50.0,
        "thickness_low": 47.0,
        "needed": needed,
        "length": 2300.0,
        "width": 900.0,
        "front": FRONT,
        "front_other": OTHER,
        "reference": 1,
        "promised": lambda point: point.thickness - 3.0,
        "patches": (),
        "shortened": lambda x_from, x_to: (50.0 + x_from / 1000.0, 47.0 + x_from / 1000.0),
        "stretches": windows(0.0, 2300.0, 2200.0),
        "units": "metric",
        **more,
    }
    return WaysInput(**figures)  # type: ignore[arg-type]


def by_kind(given_: WaysInput, fill: Fill | None = None):  # type: ignore[no-untyped-def]
    return {way.kind: way for way in ways(given_, fill or Fill(), SHOP.epoxy, SHOP.prices)}


def test_each_way_tells_its_gain_against_leaving_it() -> None:
    found = by_kind(given())
    assert found["as it is"].gain == 0.0
    assert found["fill"].gain == pytest.approx(3.0)
    assert found["let in wood"].thickness == found["dip on the underside"].thickness == pytest.approx(53.0)
    assert found["other face up"].thickness == 50.0
    assert found["shorten"].gain == pytest.approx(0.1) and found["shorten"].length == pytest.approx(2200.0)


def test_nothing_is_filled_without_a_price_or_against_the_clients_word() -> None:
    assert not by_kind(given())["fill"].fits
    priced = by_kind(given(), Fill(price_per_litre=100.0, price_per_visible_area=300.0))["fill"]
    assert priced.fits and priced.money == pytest.approx(0.02 * 100.0 + (2e4 / 3.0) / 1e6 * 300.0)
    assert not by_kind(given(), Fill(price_per_litre=100.0, client_agrees=False))["fill"].fits


def test_underside_keeps_skips_only_where_they_are_priced() -> None:
    assert not by_kind(given())["dip on the underside"].fits
    assert by_kind(given(), Fill(underside_price_per_litre=20.0))["dip on the underside"].fits


def test_a_way_fits_only_if_it_gives_what_is_asked_for() -> None:
    found = by_kind(given(needed=49.5), Fill(price_per_litre=100.0))
    assert found["fill"].fits and not found["as it is"].fits and not found["shorten"].fits
    assert "thinner" in found and not found["thinner"].fits


def test_knee_is_where_more_fill_buys_little() -> None:
    assert knee(FRONT, [point.fill_volume for point in FRONT]) in (1, 2)
    assert knee(FRONT[:1], [0.0]) == 0
    assert knee((point(0.0, 50.0), point(1.0, 50.0), point(2.0, 50.0)), [0.0, 1.0, 2.0]) == 0


def test_windows_slide_over_the_spare_length_and_there_are_none_without() -> None:
    found = windows(0.0, 2300.0, 2200.0)
    assert found[0] == (0.0, 2200.0) and found[-1] == pytest.approx((100.0, 2300.0))
    assert windows(0.0, 2100.0, 2200.0) == []
    assert all(high - low < 2300.0 for low, high in windows(0.0, 2300.0, None))
