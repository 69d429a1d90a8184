"""The price of a job: what moves it, margin and mark-up told apart, payments, changes, papers to send, and the orders."""

from __future__ import annotations

import dataclasses
import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Query
from fastapi import Path as InPath
from fastapi.responses import Response
from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.job.loaded import Job
from slabwright.plan import Plan
from slabwright.sheets.edition import job_in
from slabwright.shop.money import format_amount
from slabwright.shop.orders_results import Order, Orders
from slabwright.shop.price_results import Price
from slabwright.shop.variation import Variation
from slabwright.web import clock
from slabwright.web.desk import Desk, DeskOf
from slabwright.web.editions import called, edition_of
from slabwright.web.figures import figures, problems
from slabwright.web.models import ERRORS, GREATEST, Figure, JobId, JobView, Model, Problem
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.pages.price_picture import movers, spans, total_line
from slabwright.web.pages.price_trying import Shares, tried
from slabwright.web.pages.today_cards import amount_words
from slabwright.web.shop_days import shop_days
from slabwright.web.store import NotThere, Now

router = APIRouter(tags=["price"])
_FIGURES = {
    "shop.price.total": "To pay, tax and all",
    "shop.price.net": "Before tax",
    "shop.price.cost": "What it costs the shop",
    "shop.price.contingency": "Put by for what goes wrong",
    "shop.price.profit": "Profit",
    "shop.price.margin": "Margin: profit of the price",
    "shop.price.mark_up": "Mark-up: profit on the cost",
    "shop.price.earns_per_hour": "Earns for an hour of labour",
    "shop.price.earns_per_hour_low": "The same if the hours run long",
    "shop.price.hours": "Hours of labour",
}
_GROUPS = {
    "material": "Material",
    "machine": "Machine",
    "labour": "Labour",
    "consumables": "Consumables",
    "bought in": "Bought in",
    "delivery": "Delivery",
    "overhead": "Overhead",
    "contingency": "Put by",
    "profit": "Profit",
    "tax": "Tax",
}
_MOST = 60


class Line(Model):
    """One line of the price."""

    name: str
    amount: str
    price: float
    shown: str
    low: str
    high: str


class Bar(Model):
    """A line that moves the price."""

    name: str
    amount: str
    shown: str
    low: str
    high: str
    bar: str = Field(description="SVG: from low to high, with a mark at what is reckoned")


class Group(Model):
    """A kind of cost with its lines, which add up to it."""

    name: str
    shown: str
    lines: list[Line]


class Payment(Model):
    """One payment."""

    number: int
    name: str
    due: str
    share: float = Field(description="% of the price")
    shown: str
    invoice: str = Field(description="address of its PDF")


class OrderLine(Model):
    """One thing to buy."""

    what: str
    for_what: str
    amount: str
    shown: str = Field(description="what it costs; nothing where no price is stated")
    by: str = Field(description="last day to order it, in words; nothing where it is not known")
    before: str = Field(description="the work that it must be there for")
    received: bool
    in_stock: str


class SupplierLines(Model):
    """All that is ordered from one supplier."""

    name: str
    by: str
    shown: str
    things: list[OrderLine]


class ChangeLine(Model):
    """A kind of cost before and after a change."""

    name: str
    before: str
    after: str
    difference: str


class ChangeView(Model):
    """What came of a change: the price of an earlier revision against this one."""

    old: int
    new: int
    money: str = Field(description="more or less to pay, in words")
    total: str
    changes: list[str] = Field(description="what is changed, in words")
    lines: list[ChangeLine]
    paper: str = Field(description="address of the PDF to sign")


class PriceView(JobView):
    """The price, for the maker's own eyes."""

    waits: str = Field(description="why there is no price, or nothing")
    planned: bool = Field(description="whether it is a first price, before there is a slab")
    currency: str
    total: str
    low: str
    high: str
    holds: str = Field(description="how often the cost stays within, in words")
    margin: float = Field(description="profit as % of the price before tax")
    mark_up: float = Field(description="profit as % of cost and what is put by")
    by_mark_up: bool = Field(description="whether a mark-up is stated rather than a margin")
    stated: float = Field(description="the margin or mark-up that is stated, before the price is rounded up")
    picture: str = Field(description="SVG: the price on a line")
    bars: list[Bar] = Field(description="what moves it most, widest range first")
    more_lines: int = Field(description="lines that move it less")
    shares: list[Shares] = Field(description="margins side by side, with the mark-up that each is")
    figures: list[Figure]
    groups: list[Group]
    not_priced: list[str]
    payments: list[Payment]
    quote: str = Field(description="address of the quote's PDF; nothing where there is no price")
    suppliers: list[SupplierLines]
    from_stock: list[str]
    revisions: list[int] = Field(description="earlier ones that the price can be compared with")
    change: ChangeView | None = Field(description="against the revision before, where the price differs")


def _price_of(plan: Plan | None) -> tuple[Price | None, Orders | None, bool]:
    """Price and orders of a plan, and whether they are first ones."""
    if plan is None or plan.shop is None:
        return None, None, False
    if plan.shop.price is not None:
        return plan.shop.price, plan.shop.orders, False
    if plan.shop.first is not None:
        return plan.shop.first.price, plan.shop.orders, True
    return None, plan.shop.orders, False


def _money(amount: float, currency: str) -> str:
    return format_amount(round(amount, 6), currency)


def _view(desk: Desk, now: Now) -> PriceView:
    result = now.planned.result
    price, orders, first = _price_of(result)
    board, known = shop_days(desk.store).now(desk.store)
    needed: dict[str, datetime.date] = {}
    if board is not None and known:
        needed = _order_days(board, now.row.id)
    currency = result.job.stated.job.currency if result is not None else "EUR"
    empty: dict[str, Any] = {
        "head": desk.head(now),
        "problems": [
            one
            for one in problems(now.planned, ("price", "orders", "quote", "planning", "money", "shop"))
            if _ours(one)
        ],
        "waits": "",
        "planned": first,
        "currency": currency,
        "total": "",
        "low": "",
        "high": "",
        "holds": "",
        "margin": 0.0,
        "mark_up": 0.0,
        "by_mark_up": False,
        "stated": 0.0,
        "picture": "",
        "bars": [],
        "more_lines": 0,
        "shares": [],
        "figures": [],
        "groups": [],
        "not_priced": [],
        "payments": [],
        "quote": "",
        "suppliers": _suppliers(orders, needed, currency) if orders is not None else [],
        "from_stock": [f"{one.what}: {one.wanted:.3g} {one.unit}" for one in orders.from_stock]
        if orders is not None
        else [],
        "revisions": list(range(max(1, now.revision.number - _MOST), now.revision.number)),
        "change": None,
    }
    if price is None or result is None:
        waits = (
            "a slab, planned or read" if result is None or result.shop is None else "what an hour costs: [prices] hour"
        )
        return PriceView(**empty | {"waits": waits})
    job = now.row.id
    wide = movers(price)
    return PriceView(
        **empty
        | {
            "total": _money(price.total, currency),
            "low": _money(price.low, currency),
            "high": _money(price.high, currency),
            "holds": _holds(price),
            "margin": round(price.margin, 2),
            "mark_up": round(price.mark_up, 2),
            "by_mark_up": _stated(result.job)[1],
            "stated": _stated(result.job)[0],
            "picture": total_line(price),
            "bars": [Bar.model_validate(dataclasses.asdict(one)) for one in spans(wide, currency)],
            "more_lines": sum(line.high > line.low for line in price.lines) - len(wide),
            "shares": [] if first else tried(result, now.revision.files),
            "figures": figures(now.planned, {_path(path, first): words for path, words in _FIGURES.items()}),
            "groups": _groups(price),
            "not_priced": list(price.not_priced),
            "payments": [
                Payment(
                    number=number,
                    name=stage.name,
                    due=stage.due,
                    share=stage.share,
                    shown=_money(stage.amount, currency),
                    invoice=f"/api/jobs/{job}/invoices/{number}.pdf",
                )
                for number, stage in enumerate(price.stages, 1)
            ],
            "quote": f"/api/jobs/{job}/quote.pdf",
            "change": _last_change(desk, now),
        }
    )


def _ours(one: Problem) -> bool:
    return not one.code.startswith(("shop/conflict", "shop/defaults"))


def _path(path: str, first: bool) -> str:
    return path.replace("shop.price.", "shop.first.price.") if first else path


def _holds(price: Price) -> str:
    if price.holds is None:
        return "a fixed share is put by"
    return {80.0: "holds 4 times in 5", 90.0: "holds 9 times in 10"}.get(
        price.holds, f"holds {price.holds:g} times in 100"
    )


def _stated(job: Job) -> tuple[float, bool]:
    """The percent that is stated for this job, or else for the shop; and whether it is a mark-up."""
    for one in (job.stated.quote, job.shop.money):
        if one is not None and one.mark_up is not None:
            return one.mark_up, True
        if one is not None and one.margin is not None:
            return one.margin, False
    return 0.0, False


def _groups(price: Price) -> list[Group]:
    found: dict[str, list[Any]] = {}
    for line in price.lines:
        found.setdefault(line.group, []).append(line)
    return [
        Group(
            name=_GROUPS.get(name, name[:1].upper() + name[1:]),
            shown=_money(sum(line.price for line in lines), price.currency),
            lines=[
                Line(
                    name=line.name,
                    amount=line.amount,
                    price=line.price,
                    shown=_money(line.price, price.currency),
                    low=_money(line.low, price.currency),
                    high=_money(line.high, price.currency),
                )
                for line in lines
            ],
        )
        for name, lines in found.items()
    ]


def _order_days(board: Any, job: int) -> dict[str, datetime.date]:
    """Last day to order what each delivery brings, by kind, as the shop's days have it."""
    from slabwright.web.pages.today_cards import COMES, asks

    if board.schedule is None:
        return {}
    found: dict[str, datetime.date] = {}
    waits = {one.name: one.waits_for for one in (board.job(job).operations if board.job(job) is not None else ())}
    for ask in asks(board, clock.now())[0]:
        if ask.job == job and not ask.asked:
            for kind in COMES.get(waits.get(ask.operation, ""), ()):
                found.setdefault(kind, ask.by)
    return found


def _suppliers(orders: Orders, days: dict[str, datetime.date], currency: str) -> list[SupplierLines]:
    today = clock.now().date()

    def by(order: Order) -> str:
        day = order.order_by or days.get(order.kind)
        return "" if day is None or order.received >= order.amount else clock.day_words(day, today)

    found = []
    for group in orders.suppliers:
        dated = [
            day
            for one in group.items
            if (day := one.order_by or days.get(one.kind)) is not None and one.received < one.amount
        ]
        found.append(
            SupplierLines(
                name=group.supplier or "No supplier stated yet",
                by=clock.day_words(min(dated), today) if dated else "",
                shown=_money(group.price, currency) if group.price is not None else "",
                things=[
                    OrderLine(
                        what=one.what,
                        for_what=one.for_what,
                        amount=amount_words(one),
                        shown=_money(one.price, currency) if one.price is not None else "",
                        by=by(one),
                        before=one.before,
                        received=one.received >= one.amount > 0.0,
                        in_stock=f"{one.in_stock:.3g} on the shelf" if one.in_stock else "",
                    )
                    for one in group.items
                ],
            )
        )
    return found


def _variation(desk: Desk, job: int, old: int, new: int) -> tuple[Variation, Job, Price]:
    then, now = desk.store.planned(job, old).result, desk.store.planned(job, new).result
    before, after = _price_of(then)[0], _price_of(now)[0]
    if then is None or now is None or before is None or after is None:
        raise NotThere(f"one of the revisions {old} and {new} has no price to compare")
    from slabwright.shop.variation import variation

    return variation((then.job, before), (now.job, after)), now.job, after


def _change(desk: Desk, job: int, old: int, new: int) -> ChangeView:
    made, _, price = _variation(desk, job, old, new)
    currency = price.currency
    size = _money(abs(made.money), currency)
    words = f"{size} more to pay" if made.money > 0 else f"{size} less to pay" if made.money < 0 else "the same to pay"
    return ChangeView(
        old=old,
        new=new,
        money=words,
        total=_money(made.total, currency),
        changes=[f"{one.key}: {one.before or 'nothing'} → {one.after or 'nothing'}" for one in made.changes],
        lines=[
            ChangeLine(
                name=_GROUPS.get(line.group, line.group),
                before=_money(line.before, currency),
                after=_money(line.after, currency),
                difference=_money(line.difference, currency),
            )
            for line in made.lines
            if line.minor
        ],
        paper=f"/api/jobs/{job}/change.pdf?old={old}",
    )


def _last_change(desk: Desk, now: Now) -> ChangeView | None:
    if now.revision.number < 2:
        return None
    try:
        made = _change(desk, now.row.id, now.revision.number - 1, now.revision.number)
    except SlabwrightError:
        return None  # the revision before had no price, or another currency
    return made if made.lines else None


OldRevision = Annotated[int, Query(ge=1, le=GREATEST, description="the earlier revision")]
_PDF: dict[int | str, dict[str, Any]] = {200: {"content": {"application/pdf": {}}, "description": "the paper"}}


def _pdf(data: bytes, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}.pdf"'}
    return Response(data, media_type="application/pdf", headers=headers)


def _priced(desk: Desk, job: int) -> tuple[Now, Plan, Price]:
    now = desk.store.now(job)
    price = _price_of(now.planned.result)[0]
    if now.planned.result is None or price is None:
        raise NotThere(f"job {job} has no price yet")
    return now, now.planned.result, price


@router.get("/api/jobs/{job}/quote.pdf", response_class=Response, responses={**ERRORS, **_PDF})
def quote_paper(job: JobId, desk: DeskOf) -> Response:
    """The quote for the client, without the maker's insides."""
    from slabwright.sheets.quote_pages import quote_pdf
    from slabwright.shop.quote import quote_of

    now, result, price = _priced(desk, job)
    board, known = shop_days(desk.store).now(desk.store)
    ready = None
    one = board.job(job) if board is not None and known else None
    if one is not None and board is not None and board.ready is not None and one.name in board.ready.ready_even:
        ready = (board.ready.ready_even[one.name].date(), board.ready.ready_4_in_5[one.name].date())
    thick = result.board.thickness if result.board is not None else None
    stated = job_in(result.job, edition_of(now.revision))
    quote, _ = quote_of(stated, price, ready=ready, promised=thick)
    return _pdf(quote_pdf(stated, quote, result.base), called(now.row, now.revision.number, "quote"))


@router.get("/api/jobs/{job}/invoices/{which}.pdf", response_class=Response, responses={**ERRORS, **_PDF})
def invoice_paper(job: JobId, which: Annotated[int, InPath(ge=1, le=100)], desk: DeskOf) -> Response:
    """The invoice of one payment."""
    from slabwright.sheets.invoice_pages import invoice_pdf
    from slabwright.shop.quote import invoice

    now, result, price = _priced(desk, job)
    if which > len(price.stages):
        raise NotThere(f"job {job} has {len(price.stages)} payments; there is no payment {which}")
    stated = job_in(result.job, edition_of(now.revision))
    paper = invoice_pdf(stated, price, invoice(stated, price, which), clock.now().date())
    return _pdf(paper, called(now.row, now.revision.number, f"invoice-{which}"))


@router.get("/api/jobs/{job}/change", responses=ERRORS)
def change(job: JobId, old: OldRevision, desk: DeskOf) -> ChangeView:
    """What a change came to: an earlier revision's price against the newest."""
    return _change(desk, job, old, desk.store.revision(job).number)


@router.get("/api/jobs/{job}/change.pdf", response_class=Response, responses={**ERRORS, **_PDF})
def change_paper(job: JobId, old: OldRevision, desk: DeskOf) -> Response:
    """The page of a change, to be signed."""
    from slabwright.sheets.quote_pages import variation_pdf

    now = desk.store.now(job)
    new = now.revision.number
    made, stated, price = _variation(desk, job, old, new)
    paper = variation_pdf(job_in(stated, edition_of(now.revision)), made, price.currency)
    return _pdf(paper, called(now.row, new, f"change-since-{old}"))


def _standing(now: Now) -> Standing:
    price, _, first = _price_of(now.planned.result)
    if price is None:
        return Standing("waiting", "waits for the slab or a rate")
    told = _money(price.total, price.currency)
    if price.not_priced:
        return Standing("decide", f"{told}, {len(price.not_priced)} without a price")
    return Standing("ready", f"first: {told}" if first else told)


job_page(router, "price", PriceView, _view, script="price.js")

PAGE = Page("price", "Price", router, _standing)
