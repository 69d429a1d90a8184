"""What lies in the shop: offcuts of wood and steel, consumables; and what things cost from which day on."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any, get_args

from sqlalchemy import Connection, Select, func, insert, select

from slabwright.book.revisions import newest
from slabwright.book.rows import PriceRow, StockItem, StockKind, StockMove
from slabwright.book.stated import now, number, one_of, words
from slabwright.book.store import Store
from slabwright.book.tables import prices, stock_items, stock_moves
from slabwright.findings import SlabwrightError

_MILLION = 1_000_000


class Stock:
    """The stock of a book: every amount that was put in or taken is kept, what is there is their sum."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(
        self,
        kind: StockKind,
        what: str,
        amount: float,
        unit: str,
        where: str,
        who: str,
        *,
        length: float | None = None,
        width: float | None = None,
        thickness: float | None = None,
        note: str = "",
        why: str = "",
        job: int | None = None,
    ) -> StockItem:
        """Put something into stock; of an item that is the same in all but its amount, there is more then.

        Args:
            kind: wood, steel or consumable
            what: species, section or product
            amount: that is put in
            unit: of the amount, such as `pieces`
            where: it lies
            who: puts it there
            length: of an offcut [mm]
            width: of an offcut [mm]
            thickness: of an offcut [mm]
            note: anything to know about it
            why: such as `left over`
            job: that it was left over from

        Raises:
            SlabwrightError: something cannot be used.
        """
        sizes = {"length": length, "width": width, "thickness": thickness}
        item: dict[str, Any] = {
            "kind": one_of(kind, get_args(StockKind), "the kind"),
            "what": words(what, "what it is", most=200),
            **{
                name: None if size is None else number(size, f"the {name}", above=True, most=1e6)
                for name, size in sizes.items()
            },
            "unit": words(unit, "the unit", most=32),
            "place": words(where, "where it lies", most=200),
            "note": words(note, "the note", wanted=False),
        }
        millionths = _millionths(amount)
        with self._store.writing() as connection:
            _take_turns(connection)
            same = select(stock_items.c.id).where(
                *(
                    stock_items.c[name].is_(None) if value is None else stock_items.c[name] == value
                    for name, value in item.items()
                )
            )
            found = connection.execute(same.order_by(stock_items.c.id)).scalar()
            if found is None:
                (found,) = connection.execute(insert(stock_items), item).inserted_primary_key or (0,)
            _move(connection, int(found), millionths, who, why, job)
            return _item(connection, int(found))

    def take(self, item: int, amount: float, who: str, why: str = "", *, job: int | None = None) -> StockItem:
        """Take something from stock.

        Args:
            item: id
            amount: in the item's unit
            who: takes it
            why: in their words
            job: that it is for

        Returns:
            The item with what is left.

        Raises:
            SlabwrightError: there is no such item, or not as much of it.
        """
        millionths = _millionths(amount)
        with self._store.writing() as connection:
            _take_turns(connection)
            there = _item(connection, item)
            if millionths > round(there.amount * _MILLION):
                raise SlabwrightError(
                    f"of {there.what} ({there.where}) there is {there.amount:g} {there.unit}, not {amount:g}; "
                    "take less, or add what was found first"
                )
            _move(connection, item, -millionths, who, why, job)
            return _item(connection, item)

    def list(
        self, kind: StockKind | None = None, what: str | None = None, *, used_up: bool = False
    ) -> tuple[StockItem, ...]:
        """What is there.

        Args:
            kind: only this kind
            what: only this species, section or product
            used_up: whether items of which nothing is left are told too
        """
        asked = _items()
        if kind is not None:
            asked = asked.where(stock_items.c.kind == one_of(kind, get_args(StockKind), "the kind"))
        if what is not None:
            asked = asked.where(stock_items.c.what == what)
        with self._store.reading() as connection:
            found = [_as_item(row) for row in connection.execute(asked)]
        return tuple(item for item in found if used_up or item.amount > 0)

    def moves(self, item: int) -> tuple[StockMove, ...]:
        """What was put in and taken of an item, in order.

        Raises:
            SlabwrightError: there is no such item.
        """
        with self._store.reading() as connection:
            _item(connection, item)
            rows = connection.execute(select(stock_moves).where(stock_moves.c.item == item).order_by(stock_moves.c.id))
            return tuple(
                StockMove(row.item, row.millionths / _MILLION, row.at, row.who, row.why, row.job) for row in rows
            )

    def set_price(
        self,
        what: str,
        amount: Decimal | str | int,
        currency: str,
        unit: str,
        who: str,
        *,
        since: date | None = None,
        source: str = "",
    ) -> PriceRow:
        """Write down what a thing costs from a day on.

        Args:
            what: species, section or product
            amount: of money, exact: a decimal number, or its text
            currency: three letters, ISO 4217
            unit: that the price is for
            who: writes it down
            since: first day; None for today
            source: where it was learnt

        Raises:
            SlabwrightError: something cannot be used.
        """
        money = _money(amount)
        if len(currency) != 3 or not currency.isascii() or not currency.isupper():
            raise SlabwrightError(f"the currency {currency[:20]!r}: write three capital letters, such as EUR")
        row: dict[str, Any] = {
            "what": words(what, "what it is", most=200),
            "unit": words(unit, "the unit", most=32),
            "amount": str(money),
            "currency": currency,
            "since": now().date() if since is None else since,
            "source": words(source, "where it was learnt", wanted=False),
            "who": words(who, "who", most=200),
            "at": now(),
        }
        with self._store.writing() as connection:
            connection.execute(insert(prices), row)
        return _as_price(row)

    def price(self, what: str, at: date | datetime | None = None, currency: str | None = None) -> PriceRow | None:
        """What a thing costs on a day: the price that began last, and of those of one day the one written last.

        Args:
            what: species, section or product
            at: the day; None for today; of a moment its day in UTC
            currency: only in this one

        Returns:
            The price, or None where none had begun by then.
        """
        day = now().date() if at is None else at.astimezone(UTC).date() if isinstance(at, datetime) else at
        found = [row for row in self.prices(what) if row.since <= day and currency in (None, row.currency)]
        return found[-1] if found else None

    def prices(self, what: str | None = None) -> tuple[PriceRow, ...]:
        """Every price of a thing, or of all, by the day on which it began."""
        asked = select(prices).order_by(prices.c.since, prices.c.id)
        if what is not None:
            asked = asked.where(prices.c.what == what)
        with self._store.reading() as connection:
            return tuple(_as_price(row) for row in connection.execute(asked).mappings())


def _millionths(amount: float) -> int:
    parts = round(number(amount, "the amount", above=True, most=1e9) * _MILLION)
    if not parts:
        raise SlabwrightError(f"the amount {amount:g} is too small to count")
    return parts


def _money(amount: Decimal | str | int) -> Decimal:
    try:
        money = Decimal(amount)
    except (InvalidOperation, ValueError, TypeError):
        money = Decimal("NaN")
    if not money.is_finite() or money < 0 or money >= Decimal(10) ** 12 or len(str(money)) > 30:
        raise SlabwrightError(f"the price {str(amount)[:40]!r}: write an amount of money, such as 12.50")
    return money


def _take_turns(connection: Connection) -> None:
    """Of two who move stock at once the second sees what the first has done; SQLite has only one writer anyway."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql("LOCK TABLE stock_items IN SHARE ROW EXCLUSIVE MODE")


def _move(connection: Connection, item: int, millionths: int, who: str, why: str, job: int | None) -> None:
    if job is not None:
        newest(connection, job)
    row = {
        "item": item,
        "millionths": millionths,
        "job": job,
        "who": words(who, "who", most=200),
        "at": now(),
        "why": words(why, "why", wanted=False),
    }
    connection.execute(insert(stock_moves), row)


def _items() -> Select[Any]:
    there = (
        select(stock_moves.c.item, func.sum(stock_moves.c.millionths).label("there"))
        .group_by(stock_moves.c.item)
        .subquery()
    )
    return select(stock_items, there.c.there).join(there, there.c.item == stock_items.c.id).order_by(stock_items.c.id)


def _item(connection: Connection, item: int) -> StockItem:
    row = 0 < item < 2**31 and connection.execute(_items().where(stock_items.c.id == item)).first()
    if not row:
        raise SlabwrightError(f"there is no item {item} in stock")
    return _as_item(row)


def _as_item(row: Any) -> StockItem:
    return StockItem(
        row.id,
        row.kind,
        row.what,
        row.length,
        row.width,
        row.thickness,
        row.unit,
        row.place,
        int(row.there) / _MILLION,
        row.note,
    )


def _as_price(row: Any) -> PriceRow:
    return PriceRow(
        row["what"],
        row["unit"],
        Decimal(row["amount"]),
        row["currency"],
        row["since"],
        row["source"],
        row["who"],
        row["at"],
    )
