"""The price of a job: what moves it, margin and mark-up told apart, payments, changes, papers to send, and the orders."""

from __future__ import annotations

import dataclasses
import datetime
from typing import Any

from fastapi import APIRouter
from pydantic import Field

from slabwright.job.loaded import Job
from slabwright.quantities import Units
from slabwright.shop.orders import amount_words
from slabwright.shop.price_results import Price
from slabwright.web import clock
from slabwright.web.desk import Desk
from slabwright.web.figures import figures, problems
from slabwright.web.models import Figure, JobView, Model, Problem
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.pages import price_papers
from slabwright.web.pages.price_changes import ChangeView, last_change
from slabwright.web.pages.price_lines import Bar, Group, groups_of, money, price_of
from slabwright.web.pages.price_orders import SupplierLines, order_days, suppliers
from slabwright.web.pages.price_picture import movers, spans, total_line
from slabwright.web.pages.price_trying import Shares, tried
from slabwright.web.shop_days import shop_days
from slabwright.web.store import Now

router = APIRouter(tags=["price"])
router.include_router(price_papers.router)
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
_MOST = 60


class Payment(Model):
    """One payment."""

    number: int
    name: str
    due: str
    share: float = Field(description="% of the price")
    shown: str
    invoice: str = Field(description="address of its PDF")
    out: bool = Field(description="whether it was invoiced: then it does not move any more")
    send: dict[str, Any] = Field(description="edit that says it was invoiced, or that the last one was not; or nothing")


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
    agreed: str = Field(description="the price that was signed, in words; nothing where none is")
    hold: dict[str, Any] = Field(description="edit that holds the price as signed today, or lets it go; or nothing")
    quote: str = Field(description="address of the quote's PDF; nothing where there is no price")
    suppliers: list[SupplierLines]
    from_stock: list[str]
    revisions: list[int] = Field(description="earlier ones that the price can be compared with")
    change: ChangeView | None = Field(description="against the revision before, where the price differs")


def _view(desk: Desk, now: Now) -> PriceView:
    result = now.planned.result
    price, orders, first = price_of(result)
    board, known = shop_days(desk.store).now(desk.store)
    needed: dict[str, datetime.date] = {}
    if board is not None and known:
        needed = order_days(board, now.row.id)
    currency = result.job.stated.job.currency if result is not None else "EUR"
    units: Units = result.job.stated.job.units if result is not None else "metric"
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
        "agreed": "",
        "hold": {},
        "quote": "",
        "suppliers": suppliers(orders, needed, currency, units) if orders is not None else [],
        "from_stock": [f"{one.what}: {amount_words(one.wanted, one.unit, units)}" for one in orders.from_stock]
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
            "total": money(price.total, currency),
            "low": money(price.low, currency),
            "high": money(price.high, currency),
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
            "groups": groups_of(price),
            "not_priced": list(price.not_priced),
            "payments": _payments(job, result.job, price),
            "agreed": _agreed(result.job, price),
            "hold": {} if first else _hold(price),
            "quote": f"/api/jobs/{job}/quote.pdf",
            "change": last_change(desk, now),
        }
    )


def _payments(job: int, stated: Job, price: Price) -> list[Payment]:
    """The payments; the next one can be said to have gone out, and the last that went out to have not."""
    amounts = [stage.amount for stage in price.stages]
    gone = len(stated.stated.quote.invoiced) if stated.stated.quote is not None else 0
    found = []
    for number, stage in enumerate(price.stages, 1):
        upto = number if number == gone + 1 else number - 1 if number == gone else None
        send = {} if upto is None else {"quote.invoiced": amounts[:upto] or None}
        found.append(
            Payment(
                number=number,
                name=stage.name,
                due=stage.due,
                share=stage.share,
                shown=money(stage.amount, price.currency),
                invoice=f"/api/jobs/{job}/invoices/{number}.pdf",
                out=number <= gone,
                send=send,
            )
        )
    return found


def _agreed(stated: Job, price: Price) -> str:
    """The price that was signed beside what it is reckoned at by now; nothing where none was."""
    quote = stated.stated.quote
    if price.reckoned is None or quote is None:
        return ""
    signed = f" on {quote.agreed_on:%d %b %Y}" if quote.agreed_on is not None else ""
    return f"Agreed{signed}: it holds. Reckoned today it would be {money(price.reckoned, price.currency)}."


def _hold(price: Price) -> dict[str, Any]:
    """The edit that holds a price as signed today, or lets it go."""
    if price.reckoned is not None:
        return {"quote.agreed": None, "quote.agreed_on": None}
    return {"quote.agreed": price.total, "quote.agreed_on": clock.now().date().isoformat()}


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


def _standing(now: Now) -> Standing:
    price, _, first = price_of(now.planned.result)
    if price is None:
        return Standing("waiting", "waits for the slab or a rate")
    told = money(price.total, price.currency)
    if price.not_priced:
        return Standing("decide", f"{told}, {len(price.not_priced)} without a price")
    return Standing("ready", f"first: {told}" if first else told)


job_page(router, "price", PriceView, _view, script="price.js")

PAGE = Page("price", "Price", router, _standing)
