"""Money: `[money]`, `[[suppliers]]` and `[[stock]]` of the shop; `[quote]` and `[[received]]` of a job."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from slabwright.job.calendar_models import Day
from slabwright.job.fields import Number, Stated, Whole

Percent = Annotated[Number, Field(ge=0, le=1000)]
Amount = Annotated[Number, Field(ge=0, le=1e9)]
Kind = Literal[
    "slab", "steel", "feet", "fasteners", "epoxy", "coatings", "cutters", "filler", "cables", "consumables", "other"
]
Term = Literal["expiry", "slab hold", "cancellation", "storage", "transit cover", "liability cover"]
_WHOLE = 100.0
_OFF = 1e-9


class PayStage(Stated):
    """`[[money.stages]]` and `[[quote.stages]]`: a part of the price that is due when something is signed off."""

    name: str = Field(min_length=1, max_length=80, description="what is signed off: 'frame tacked, top laid on'")
    share: Number = Field(gt=0, le=100, description="of the price, %")


def check_shares(deposit: float | None, stages: Sequence[PayStage], balance: float | None) -> None:
    """Refuse shares that are not the whole.

    Raises:
        ValueError: they add up to more than 100 %, or a stated balance is not the rest.
    """
    parts = [deposit or 0.0, *(stage.share for stage in stages)]
    told = " + ".join(f"{part:g}" for part in parts)
    rest = _WHOLE - math.fsum(parts)
    if balance is None:
        if rest < -_OFF:
            raise ValueError(f"deposit and stages come to {told} = {_WHOLE - rest:g} %; they can be at most 100 %")
        return
    if abs(rest - balance) > _OFF:
        raise ValueError(
            f"deposit, stages and balance come to {told} + {balance:g} = {_WHOLE - rest + balance:g} %; they must be 100 %:"
            f" a balance of {max(rest, 0.0):g} would do"
        )


class Money(Stated):
    """`[money]`: how the shop makes its price, and who asks for it. Percent are plain numbers: 25 is 25 %."""

    trades_as: str = Field("", max_length=80, description="the shop's name, at the head of quotes and invoices")
    address: list[str] = Field([], max_length=6, description="lines under that name")
    tax_number: str = Field("", max_length=40, description="as invoices must show it")
    pay_to: str = Field("", max_length=160, description="where money is sent, at the foot of an invoice")
    overhead_per_hour: Amount = Field(
        0.0, description="rent, power, insurance, tools: for each hour of labour, in the job's currency"
    )
    overhead: Percent = Field(0.0, description="% on everything that the job costs; with or without overhead_per_hour")
    consumables_per_hour: Amount = Field(
        0.0, description="abrasives, gas, blades, rags: for each hour of labour, in the job's currency"
    )
    contingency: Literal["spread", "share", "none"] = Field(
        "spread",
        description="what is put by for what goes wrong: spread: so much that the price holds as often as `holds` says; share:"
        " a fixed % of the cost; none",
    )
    holds: Number = Field(
        80.0, ge=50, lt=100, description="% of jobs like this in which the cost stays within the price"
    )
    contingency_share: Percent = Field(10.0, description='% of the cost, where contingency = "share"')
    together: Number = Field(
        30.0,
        ge=0,
        le=100,
        description="% by which hours run over together: 0, each by itself; 100, all at once (default: from memory)",
    )
    margin: Number | None = Field(None, ge=0, description="profit as % of the price before tax; or state mark_up")
    mark_up: Number | None = Field(None, ge=0, le=1000, description="profit as % of the cost; or state margin")
    tax: Number = Field(0.0, ge=0, le=100, description="% on the price")
    tax_name: str = Field(
        "tax", min_length=1, max_length=30, description="as it is called on the quote: VAT, sales tax"
    )
    prices_with_tax: bool = Field(
        False, description="true where the quote's lines are told with tax in them, as for private clients"
    )
    round_to: Number | None = Field(
        None, gt=0, le=1e6, description="the price is rounded up to a multiple of this, in the job's currency"
    )
    deposit: Number = Field(
        40.0, ge=0, le=100, description="% of the price, cleared before the slab is bought (default: common practice)"
    )
    stages: list[PayStage] = Field(
        [],
        max_length=12,
        description="parts of the price that are due at sign-offs, between deposit and balance",
    )
    balance: Number | None = Field(
        None, ge=0, le=100, description="% of the price, cleared before unloading; left out: the rest"
    )
    valid_days: Whole = Field(
        30, ge=1, le=365, description="days that a quote holds; wood and steel prices move (default: common practice)"
    )
    slab_hold: Amount | None = Field(
        None, description="a week, for holding a slab for the client after the quote has run out"
    )
    cancellation: Percent = Field(
        100.0,
        le=100,
        description="% of the slab and of the hours worked that is due where the client cancels after the slab is cut",
    )
    storage: Amount | None = Field(None, description="a week, where the client cannot take it when it is ready")
    storage_free_days: Whole = Field(
        14, ge=0, le=365, description="days that it is stored free (default: common practice)"
    )
    transit_cover: Amount | None = Field(None, description="what cover for the way to the client costs")
    liability_cover: Amount | None = Field(None, description="what cover for damage in the client's house costs")
    terms: list[str] = Field([], max_length=12, description="your own sentences at the foot of every quote")

    @model_validator(mode="after")
    def _one_way_to_profit(self) -> Self:
        if self.margin is not None and self.mark_up is not None:
            raise ValueError("state margin (profit as % of the price) or mark_up (profit as % of the cost), not both")
        if self.margin is not None and self.margin >= _WHOLE:
            raise ValueError(
                f"margin is profit as % of the price, so it must be less than 100; it says {self.margin:g}. A profit as % of"
                f" the cost is a mark-up: mark_up = {self.margin:g}"
            )
        check_shares(self.deposit, self.stages, self.balance)
        return self


class Sells(Stated):
    """`[[suppliers.sells]]`: the price of one thing."""

    what: str = Field(
        min_length=1, max_length=80, description="as the order names it: '60x60x3', 'M8 x 30 bolt'; or a kind: steel"
    )
    price: Amount = Field(description="of one, in the job's currency, without tax")
    per: Literal["piece", "m", "kg", "l", "m3"] = Field("piece", description="what one is")
    since: Day | None = Field(
        None,
        description="first day of this price; of several prices of a thing the one that began last by the job's date holds",
    )


class Supplier(Stated):
    """`[[suppliers]]`: who sells what, and how long it takes."""

    name: str = Field(min_length=1, max_length=80, description="as the order names them; no two alike")
    what: list[Kind] = Field(min_length=1, max_length=11, description="kinds of things that they sell")
    lead_days: Whole | None = Field(None, ge=0, le=400, description="days from order to delivery; left out: not known")
    lead_in: Literal["days", "working days"] = Field(
        "days", description="what lead_days counts: every day, Sundays too, or the supplier's working days"
    )
    sells: list[Sells] = Field([], max_length=400, description="prices")


class Held(Stated):
    """`[[stock]]`: what is on the shelf. Steel offcuts stand in `[[steel.offcuts]]`."""

    what: str = Field(min_length=1, max_length=80, description="as the order names it")
    amount: Number = Field(ge=0, le=1e6, description="in the unit in which it is ordered: pieces, kg, litres, m")


class BoughtIn(Stated):
    """`[[quote.bought_in]]`: work or a thing that somebody else does or sells for this job."""

    what: str = Field(min_length=1, max_length=80, description="such as powder coating, glass, a delivery crew")
    cost: Amount = Field(description="what it costs the shop, without tax")
    low: Amount | None = Field(None, description="least that it may come to, 9 times in 10; left out: as cost")
    high: Amount | None = Field(None, description="most that it may come to, 9 times in 10; left out: as cost")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        low, high = self.low if self.low is not None else self.cost, self.high if self.high is not None else self.cost
        if not low <= self.cost <= high:
            raise ValueError("low, cost and high must come in this order")
        return self


class Quote(Stated):
    """`[quote]`: what this job's quote says otherwise than the shop's."""

    number: str = Field("", max_length=30, description="of the quote")
    date: Day | None = Field(None, description="from which it holds; left out: the job's date, if that is a date")
    delivery: Amount | None = Field(None, description="what the delivery costs the shop: van, crew, tolls")
    slab_price: Amount | None = Field(
        None, description="what the slab costs, once it is found; it rules the price of wood"
    )
    bought_in: list[BoughtIn] = Field(default_factory=list, max_length=40, description="work and things of others")
    strike: list[Term] = Field(default_factory=list, max_length=6, description="lines that are left off this quote")
    margin: Number | None = Field(None, ge=0, description="for this job: profit as % of the price before tax")
    mark_up: Number | None = Field(None, ge=0, le=1000, description="for this job: profit as % of the cost")
    deposit: Number | None = Field(None, ge=0, le=100, description="for this job: % of the price")
    stages: list[PayStage] | None = Field(None, max_length=12, description="for this job: parts due at sign-offs")
    balance: Number | None = Field(None, ge=0, le=100, description="for this job: % of the price; left out: the rest")
    agreed: Amount | None = Field(
        None,
        description="the price that was signed, tax and all: it holds from then on, whatever hours and prices do",
    )
    agreed_on: Day | None = Field(None, description="day on which it was signed")
    invoiced: list[Amount] = Field(
        default_factory=list,
        max_length=14,
        description="what was invoiced so far, tax and all, payment by payment in their order",
    )
    words: str = Field("", max_length=1200, description="to the client, above the price")
    kept_jigs: list[str] = Field(
        default_factory=list,
        max_length=40,
        description="jigs and templates that are there from an earlier piece like this",
    )

    @model_validator(mode="after")
    def _one_way_to_profit(self) -> Self:
        if self.margin is not None and self.mark_up is not None:
            raise ValueError("state margin (profit as % of the price) or mark_up (profit as % of the cost), not both")
        if self.margin is not None and self.margin >= _WHOLE:
            raise ValueError(
                f"margin is profit as % of the price, so it must be less than 100; it says {self.margin:g}. A profit as % of"
                f" the cost is a mark-up: mark_up = {self.margin:g}"
            )
        if self.deposit is not None and self.stages is not None:
            check_shares(self.deposit, self.stages, self.balance)
        if self.agreed is None and self.agreed_on is not None:
            raise ValueError("agreed_on is the day of an agreed price: state agreed too, the price as it was signed")
        return self


class Received(Stated):
    """`[[received]]`: what of the orders has come."""

    what: str = Field(min_length=1, max_length=80, description="as the order names it")
    amount: Number | None = Field(None, gt=0, le=1e6, description="that came; left out: all of it")
    date: Day | None = Field(None, description="when")
    note: str = Field("", max_length=200, description="anything to remember")
