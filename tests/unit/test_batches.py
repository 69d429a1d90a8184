"""Batches within the pot life, parts by volume and by mass, and cans."""

from __future__ import annotations

import itertools

import pytest
from tests.unit.finish_job import paint

from slabwright.finish.batches import batches, cans_to_buy
from slabwright.finish.coating_film import densities, parts_of
from slabwright.job.finish_models import Can, Coating


def coating(**changes: object) -> Coating:
    return Coating.model_validate(paint(**changes))


def test_a_coat_is_mixed_in_as_many_batches_as_its_pot_life_wants() -> None:
    sheet = coating(more={"induction": 20})
    # Three quarters of 120 min less 20 min: 70 min a batch.
    assert batches(sheet, 2.0, 70.0, 120.0).count == 1
    three = batches(sheet, 2.1, 141.0, 120.0)
    assert (three.count, three.usable) == (3, 70.0)
    assert three.volume == pytest.approx(0.7)
    assert [part.volume for part in three.parts] == pytest.approx([0.56, 0.14])


def test_what_keeps_is_one_batch_and_induction_may_leave_nothing() -> None:
    assert batches(coating(), 2.0, 500.0, None).count == 1
    none_left = batches(coating(more={"induction": 100}), 2.0, 60.0, 120.0)
    assert none_left.usable is not None and none_left.usable < 0.0 and none_left.count == 1


def test_parts_by_volume_and_their_masses() -> None:
    sheet = coating(more={"density_a": 1.5, "density_b": 1.0, "thinner": 0.1})
    a, b, thinner = parts_of(sheet, 1.0)
    assert [a.name, b.name, thinner.name] == ["A", "B", "thinner"]
    assert [a.volume, b.volume, thinner.volume] == pytest.approx([0.8, 0.2, 0.1])
    assert [a.mass, b.mass] == pytest.approx([1.2, 0.2]) and thinner.mass is None
    assert densities(sheet)[0] == pytest.approx(1.4)


def test_parts_by_mass_fill_the_volume_that_is_wanted() -> None:
    sheet = coating(mix=[100, 50], mix_by="mass", more={"density_a": 1.25, "density_b": 1.0})
    a, b = parts_of(sheet, 0.65)
    assert a.mass is not None and b.mass is not None and a.volume is not None and b.volume is not None
    assert a.mass / b.mass == pytest.approx(2.0)
    assert a.volume + b.volume == pytest.approx(0.65)
    alone = parts_of(coating(mix=[2, 1], mix_by="mass", more={"density": 1.2}), 1.0)
    assert [part.mass for part in alone] == pytest.approx([0.8, 0.4])
    assert [part.volume for part in alone] == [None, None]


def test_what_comes_ready_is_one_part() -> None:
    (part,) = parts_of(coating(mix=None, more={"density": 0.9}), 2.0)
    assert part.name == "" and [part.volume, part.mass] == pytest.approx([2.0, 1.8])


def sets(sizes: list[Can], litres: float) -> tuple[float, ...]:
    """The best worth over every set of up to eight of each can."""
    priced = all(can.price is not None for can in sizes)
    worths = []
    for counts in itertools.product(range(9), repeat=len(sizes)):
        held = sum(count * can.size for count, can in zip(counts, sizes, strict=True))
        if held >= litres - 1e-9:
            cost = sum(count * (can.price or 0.0) for count, can in zip(counts, sizes, strict=True)) if priced else 0.0
            worths.append((round(cost, 6), sum(counts), round(held, 6)))
    return min(worths)


@pytest.mark.parametrize("litres", [0.05, 0.125, 0.52, 0.75, 0.9, 1.6, 2.5, 3.1, 5.7])
@pytest.mark.parametrize(
    "cans",
    [
        [(0.125, None), (0.75, None), (2.5, None)],
        [(0.125, 8.0), (0.75, 21.0), (2.5, 62.0)],
        [(1.0, 40.0), (2.5, 120.0)],
        [(0.946, None), (3.785, None)],
    ],
)
def test_no_set_of_cans_is_better(litres: float, cans: list[tuple[float, float | None]]) -> None:
    sizes = [Can(size=size, price=price) for size, price in cans]
    taken = cans_to_buy(sizes, litres)
    held = sum(can.size * count for can, count in taken)
    assert held >= litres - 1e-9
    cost = sum((can.price or 0.0) * count for can, count in taken)
    assert (round(cost, 6), sum(count for _, count in taken), round(held, 6)) == sets(sizes, litres)


def test_no_sizes_or_nothing_wanted_buys_nothing_and_much_is_bought_in_the_largest() -> None:
    assert cans_to_buy([], 1.0) == cans_to_buy([Can(size=1.0)], 0.0) == ()
    ((can, count),) = cans_to_buy([Can(size=1.0), Can(size=5.0)], 500.0)
    assert (can.size, count) == (5.0, 100)
