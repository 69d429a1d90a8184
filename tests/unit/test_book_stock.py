"""Stock is the sum of what was put in and taken; a price holds from its day on."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from tests.book_places import FILES, KINDS, new_place

from slabwright.book import Book, open_book
from slabwright.findings import SlabwrightError


@pytest.fixture(params=KINDS)
def book(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Book]:
    with open_book(new_place(request.param, tmp_path)) as opened:
        yield opened


def test_what_is_there_is_what_was_put_in_less_what_was_taken(book: Book) -> None:
    book.add(FILES, "Ada", "")
    tube = book.stock.add("steel", "60x60x4", 2, "pieces", "rack 3", "Ada", length=812.5, job=1, why="left over")
    again = book.stock.add("steel", "60x60x4", 1, "pieces", "rack 3", "Ben", length=812.5)
    other = book.stock.add("steel", "60x60x4", 1, "pieces", "rack 3", "Ben", length=900.0)
    assert (again.id, again.amount, other.id) == (tube.id, 3.0, 2)
    left = book.stock.take(tube.id, 1, "Ada", "stretcher", job=1)
    assert (left.amount, left.length, left.where, left.unit) == (2.0, 812.5, "rack 3", "pieces")
    assert [(move.amount, move.who, move.why, move.job) for move in book.stock.moves(tube.id)] == [
        (2.0, "Ada", "left over", 1),
        (1.0, "Ben", "", None),
        (-1.0, "Ada", "stretcher", 1),
    ]
    book.stock.take(other.id, 1, "Ada")
    assert book.stock.list("steel") == (left,)
    assert [item.amount for item in book.stock.list(used_up=True)] == [2.0, 0.0]


def test_tenths_add_up(book: Book) -> None:
    oil = book.stock.add("consumable", "hard oil", 1, "l", "shelf", "Ada")
    for _ in range(10):
        oil = book.stock.take(oil.id, 0.1, "Ada")
    assert oil.amount == 0.0 and book.stock.list() == ()


def test_stock_is_found_by_kind_and_by_what_it_is(book: Book) -> None:
    for kind, what in (("wood", "ash, white"), ("wood", "oak"), ("consumable", "oak")):
        book.stock.add(kind, what, 1, "pieces", "rack", "Ada")  # type: ignore[arg-type]
    assert [item.what for item in book.stock.list("wood")] == ["ash, white", "oak"]
    assert [item.kind for item in book.stock.list(what="oak")] == ["wood", "consumable"]


def test_more_than_is_there_cannot_be_taken(book: Book) -> None:
    item = book.stock.add("wood", "ash, white", 1.5, "m", "loft", "Ada")
    with pytest.raises(SlabwrightError, match=r"of ash, white \(loft\) there is 1\.5 m, not 1\.6"):
        book.stock.take(item.id, 1.6, "Ada")
    for number in (0, 9, 10**12):
        with pytest.raises(SlabwrightError, match=f"there is no item {number} in stock"):
            book.stock.take(number, 1, "Ada")
    for amount in (0, -1, float("nan"), 1e-9):
        with pytest.raises(SlabwrightError, match="the amount"):
            book.stock.take(item.id, amount, "Ada")
    with pytest.raises(SlabwrightError, match="there is no job 4"):
        book.stock.take(item.id, 1, "Ada", job=4)
    with pytest.raises(SlabwrightError, match="there is no job 4"):
        book.stock.add("wood", "oak", 1, "m", "loft", "Ada", job=4)
    assert [one.amount for one in book.stock.list(used_up=True)] == [1.5]


def test_two_who_take_at_once_do_not_take_the_same(book: Book) -> None:
    item = book.stock.add("consumable", "sheets", 10, "pieces", "shelf", "Ada")

    def take(_: int) -> bool:
        try:
            book.stock.take(item.id, 1, "Ben")
        except SlabwrightError:
            return False
        return True

    with ThreadPoolExecutor(4) as hands:
        assert sum(hands.map(take, range(20))) == 10
    assert book.stock.list() == ()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"kind": "glass"}, "the kind 'glass': write one of wood, steel, consumable"),
        ({"what": " "}, "what it is is empty"),
        ({"amount": -1}, "the amount -1: write more than 0"),
        ({"length": 0}, "the length 0: write more than 0"),
        ({"width": float("inf")}, "the width inf"),
        ({"unit": "x" * 33}, "the unit has 33 letters"),
        ({"where": ""}, "where it lies is empty"),
    ],
)
def test_what_cannot_be_put_in_is_told(book: Book, change: dict[str, Any], says: str) -> None:
    item: dict[str, Any] = {
        "kind": "wood",
        "what": "oak",
        "amount": 1,
        "unit": "m",
        "where": "loft",
        "who": "Ada",
    } | change
    with pytest.raises(SlabwrightError, match=says):
        book.stock.add(**item)
    assert book.stock.list(used_up=True) == ()


def test_a_price_holds_from_its_day_on(book: Book) -> None:
    put = book.stock.set_price
    put("60x60x4", "9.50", "EUR", "m", "Ada", since=date(2026, 1, 1), source="list of January")
    put("60x60x4", Decimal("10.05"), "EUR", "m", "Ada", since=date(2026, 6, 1))
    put("60x60x4", 9, "EUR", "m", "Ada", since=date(2026, 3, 1))
    put("60x60x4", "9.80", "EUR", "m", "Ada", since=date(2026, 3, 1), source="put right")
    put("60x60x4", "11", "USD", "m", "Ada", since=date(2026, 7, 1))

    def at(day: date, currency: str | None = "EUR") -> str | None:
        found = book.stock.price("60x60x4", day, currency)
        return None if found is None else str(found.amount)

    assert at(date(2025, 12, 31)) is None
    assert [at(date(2026, 1, 1)), at(date(2026, 2, 28)), at(date(2026, 3, 1)), at(date(2026, 6, 1))] == [
        "9.50",
        "9.50",
        "9.80",
        "10.05",
    ]
    assert at(date(2026, 8, 1)) == "10.05" and at(date(2026, 8, 1), None) == "11"
    assert at(datetime(2026, 2, 28, 23, 30, tzinfo=UTC)) == "9.50"
    assert len(book.stock.prices("60x60x4")) == len(book.stock.prices()) == 5
    assert book.stock.price("oak") is None
    put("oak", "3", "EUR", "l", "Ada")
    found = book.stock.price("oak")
    assert found and found.since == datetime.now(UTC).date()


@pytest.mark.parametrize("amount", ["-1", "nan", "Infinity", "a lot", "1e40", "0." + "1" * 40])
def test_a_price_that_is_none_is_told(book: Book, amount: str) -> None:
    with pytest.raises(SlabwrightError, match="write an amount of money, such as"):
        book.stock.set_price("oak", amount, "EUR", "l", "Ada")
    with pytest.raises(SlabwrightError, match="write three capital letters"):
        book.stock.set_price("oak", "1", "euro", "l", "Ada")
    assert book.stock.prices() == ()
