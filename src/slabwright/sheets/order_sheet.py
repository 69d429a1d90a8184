"""What to order: supplier by supplier, with the day and a box to tick when it has come."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from slabwright.findings import COMMON_PRACTICE
from slabwright.quantities import Units
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CARE, CHOSEN, GO, INK, PAPER, SOFT, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.words import plain
from slabwright.shop.lead_times import supplier_words
from slabwright.shop.money import format_amount
from slabwright.shop.orders import amount_words, arrived, job_date
from slabwright.shop.orders_results import Order, Orders, SupplierOrder

_ROWS = 26
_ROW = 7.0
_NAME = 66.0


def order_sheets(context: Context, orders: Orders) -> list[Sheet]:
    """Sheets of what is bought; none where nothing is.

    Args:
        context: of the job
        orders: from `orders`
    """
    if not orders.items:
        return []
    pages = _pages(orders.suppliers)
    found = []
    for number, page in enumerate(pages or [[]], start=1):
        title = "Orders" if len(pages) < 2 else f"Orders {number} of {len(pages)}"
        lead = "Each by its last day; tick what has come, and count it."
        if orders.next_order is not None:
            lead = f"Next to order: by {_day(orders.next_order)}. Tick what has come, and count it."
        picture: list[Block] = []
        for group, items in page:
            picture.append(blocks.heading(_supplier_words(context, group)))
            picture.append(_table(context, items))
        if not page:
            picture.append(blocks.text("All of it is on the shelf."))
        found.append(Sheet(title, lead, picture, [_text(context, orders, number)]))
    drawing = lead_times(orders, context.paper.picture_width, job_date(context.plan.job))
    if drawing is not None:
        found.append(
            Sheet(
                "Orders by day",
                "From the last day to order to the day that it must be there.",
                [blocks.picture(drawing)],
                [_by_day(orders)],
            )
        )
    return found


def _pages(suppliers: Sequence[SupplierOrder]) -> list[list[tuple[SupplierOrder, list[Order]]]]:
    """Suppliers and their things, as many rows to a sheet as there is room for; a heading counts as two."""
    pages: list[list[tuple[SupplierOrder, list[Order]]]] = []
    room = 0
    for group in suppliers:
        items = list(group.items)
        while items:
            if room < 4:
                pages.append([])
                room = _ROWS
            take = items[: room - 3]
            pages[-1].append((group, take))
            items = items[len(take) :]
            room -= len(take) + 3
    return pages


def _supplier_words(context: Context, group: SupplierOrder) -> str:
    name = plain(group.supplier, 40) or "No supplier stated yet"
    takes = ""
    if group.items and group.items[0].lead_days is not None and group.items[0].lead_in != "days":
        takes = f", {supplier_words(group.items[0].lead_days, group.items[0].lead_in)}"
    day = f", order by {_day(group.order_by)}" if group.order_by is not None else ""
    price = f", {_money(context, group.price)}" if group.price is not None else ""
    return f"{name}{takes}{day}{price}"


def _money(context: Context, amount: float) -> str:
    return format_amount(round(amount, 6), context.words.currency)


def _day(day: datetime.date | None) -> str:
    return "" if day is None else f"{day:%a} {day.day} {day:%b}"


def _table(context: Context, items: Sequence[Order]) -> Block:
    units = context.words.units
    rows = []
    for order in items:
        amount = amount_words(order.amount, order.unit, units)
        if order.in_stock > 0.0:
            amount += (
                f" ({_counted(order.wanted, order, units)} less {_counted(order.in_stock, order, units)} on the shelf)"
            )
        when = _day(order.order_by) or f"before {order.before}"
        price = _money(context, order.price) if order.price is not None else "–"
        rows.append((plain(order.what, 64), amount, when, price, "[tick]" if arrived(order) else "[box]"))
    head = ["What", "How much", "Order by", "Price", "Come"]
    return blocks.table(head, "lllrc", rows, wide=(0,), pad=2.8)


def _counted(amount: float, order: Order, units: Units) -> str:
    """An amount beside another in the same unit: pieces without that word."""
    return amount_words(amount, order.unit, units) if order.unit in ("kg", "l") else f"{amount:g}"


def _text(context: Context, orders: Orders, number: int) -> list[Block]:
    found: list[Block] = [blocks.heading("How")]
    found.append(
        blocks.steps(
            [
                "Read name and size to the supplier, and have them read back.",
                "Ask for the day; write it beside the row if it is later than the one here.",
                "Count and measure what comes before you sign. Steel: wall, length, no galvanising. Cans: date.",
                "Tick it, and enter it: [[received]] in the job file.",
            ]
        )
    )
    if number == 1 and orders.from_stock:
        found.append(blocks.heading("Put aside from the shelf"))
        units = context.words.units
        found.append(
            blocks.checks(
                f"{amount_words(order.wanted, order.unit, units)}: {plain(order.what, 60)}"
                for order in orders.from_stock[:8]
            )
        )
        if len(orders.from_stock) > 8:
            found.append(blocks.text(f"and {len(orders.from_stock) - 8} more."))
    if any(order.kind == "slab" for order in orders.items):
        found.append(
            blocks.voice(
                "care", "Metal detector over both faces of the slab before it is loaded.", source=COMMON_PRACTICE
            )
        )
    if any(order.kind == "steel" for order in orders.items):
        found.append(blocks.voice("care", "No galvanised steel: welded, its zinc makes ill.", source=COMMON_PRACTICE))
    return found


def _by_day(orders: Orders) -> list[Block]:
    waiting = [
        order for order in orders.items if order.order_by is not None and order.amount > 0 and not arrived(order)
    ]
    days: dict[datetime.date, list[str]] = {}
    for order in sorted(waiting, key=lambda each: each.order_by or datetime.date.max):
        if order.order_by is not None:
            days.setdefault(order.order_by, []).append(plain(order.what, 64))
    found: list[Block] = [blocks.heading("Day by day")]
    lines = []
    for day, names in list(days.items())[:8]:
        more = f" and {len(names) - 2} more" if len(names) > 2 else ""
        lines.append(f"By {_day(day)}: {'; '.join(names[:2])}{more}")
    found.append(blocks.checks(lines or ["All that has a day has come."]))
    return found


def lead_times(orders: Orders, width: float, today: datetime.date | None) -> Picture | None:
    """A strip for each kind of thing, from the last day to order it to the day on which it must be there.

    Args:
        orders: from `orders`
        width: of the drawing [mm]
        today: the job's date; None: not drawn

    Returns:
        The drawing; None where no day is known.
    """
    spans: dict[tuple[str, str], tuple[datetime.date, datetime.date, bool]] = {}
    for group in orders.suppliers:
        for order in group.items:
            if order.order_by is None or order.needed is None:
                continue
            key = (order.kind, group.supplier)
            first, last, done = spans.get(key, (order.order_by, order.needed, True))
            spans[key] = (min(first, order.order_by), max(last, order.needed), done and arrived(order))
    if not spans:
        return None
    start = min(first for first, _, _ in spans.values())
    end = max(last for _, last, _ in spans.values())
    if today is not None:
        start, end = min(start, today), max(end, today)
    days = max((end - start).days, 1)
    scale = (width - _NAME - 4.0) / days
    drawing = Picture(width, 12.0 + _ROW * len(spans) + 6.0)

    def at(day: datetime.date) -> float:
        return _NAME + scale * (day - start).days

    bottom = 10.0 + _ROW * len(spans)
    step = max(7, 7 * round(days / 7 / 8))
    monday = start + datetime.timedelta(days=-start.weekday() % 7)
    while monday <= end:
        drawing.line(at(monday), 7.0, at(monday), bottom, stroke=SOFT, weight=THIN)
        label = f"{monday.day} {monday:%b}"
        if at(monday) + text_width(label) / 2 < width:
            drawing.text(at(monday), 5.2, label, anchor="middle", fill=SOFT)
        monday += datetime.timedelta(days=step)
    rows = sorted(spans.items(), key=lambda each: each[1][0])
    for number, ((kind, supplier), (first, last, done)) in enumerate(rows):
        y = 10.0 + _ROW * number
        drawing.text(0.0, y + TEXT, plain(f"{kind}: {supplier}", 45))
        late = today is not None and first < today and not done
        stroke = GO if done else CARE if late else INK
        long = max(at(last) - at(first), 1.0)
        drawing.rectangle(at(first), y, long, _ROW - 2.6, stroke=stroke, weight=THICK, fill=PAPER if done else WOOD)
        word = "come" if done else "late" if late else f"{(last - first).days} days"
        if text_width(word) + 2.0 < long:
            drawing.text(at(first) + long / 2, y + TEXT - 0.4, word, anchor="middle", fill=stroke, weight=600)
    if today is not None:
        drawing.line(at(today), 6.0, at(today), bottom + 1.0, stroke=CHOSEN, weight=MIDDLE, dash="2 1")
        drawing.text(
            min(max(at(today), _NAME), width - 14.0), bottom + TEXT + 1.4, "this revision", anchor="middle", fill=CHOSEN
        )
    return drawing
