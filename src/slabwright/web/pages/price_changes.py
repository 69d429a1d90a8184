"""What a change came to: the price of an earlier revision against a later one."""

from __future__ import annotations

import datetime
from typing import Any

from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.job.loaded import Job
from slabwright.shop.price_results import Price
from slabwright.shop.variation import Variation, days_words
from slabwright.web import clock
from slabwright.web.desk import Desk
from slabwright.web.models import Model
from slabwright.web.pages.price_lines import GROUPS, money, price_of
from slabwright.web.store import NotThere, Now

_LONGEST = 30.0
"""Seconds that the days of a change are waited for."""


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
    days: str = Field(description="later or sooner, in words; nothing where the days are not known")
    hold: dict[str, Any] = Field(description="edit that holds the new price where one was agreed; or nothing")
    changes: list[str] = Field(description="what is changed, in words")
    lines: list[ChangeLine]
    paper: str = Field(description="address of the PDF to sign")


def variation_of(desk: Desk, job: int, old: int, new: int, *, days: bool = False) -> tuple[Variation, Job, Price]:
    """What a change comes to, with the job and the price after it.

    Args:
        desk: with the book
        job: id
        old: revision before the change
        new: revision after it
        days: whether its days are worked out too, which takes seconds

    Raises:
        NotThere: one of the revisions has no price.
    """
    then, now = desk.store.planned(job, old).result, desk.store.planned(job, new).result
    before, after = price_of(then)[0], price_of(now)[0]
    if then is None or now is None or before is None or after is None:
        raise NotThere(f"one of the revisions {old} and {new} has no price to compare")
    from slabwright.shop.variation import variation

    ready = _ready(desk, job, old, new) if days else None
    return variation((then.job, before), (now.job, after), days=ready), now.job, after


def _ready(desk: Desk, job: int, old: int, new: int) -> tuple[float, float] | None:
    """Days until each of two revisions is ready four times in five, alone in the shop; None where it is not known."""
    stamps = []
    for number in (old, new):
        planned = desk.store.planner.whole(desk.store.revision(job, number).files, wait=_LONGEST)
        shop = planned.result.shop if planned is not None and planned.result is not None else None
        if shop is None or shop.schedule is None:
            return None
        stamps.append(datetime.datetime.fromisoformat(shop.schedule.ready_4_in_5))
    return 0.0, (stamps[1] - stamps[0]) / datetime.timedelta(days=1)


def change_between(desk: Desk, job: int, old: int, new: int, *, days: bool = False) -> ChangeView:
    """What a change comes to, in words; see `variation_of`.

    Raises:
        NotThere: one of the revisions has no price.
    """
    made, stated, price = variation_of(desk, job, old, new, days=days)
    currency = price.currency
    size = money(abs(made.money), currency)
    words = f"{size} more to pay" if made.money > 0 else f"{size} less to pay" if made.money < 0 else "the same to pay"
    return ChangeView(
        old=old,
        new=new,
        money=words,
        total=money(made.total, currency),
        days="" if made.days is None else days_words(made.days),
        hold=_hold(stated, made),
        changes=[f"{one.key}: {one.before or 'nothing'} → {one.after or 'nothing'}" for one in made.changes],
        lines=[
            ChangeLine(
                name=GROUPS.get(line.group, line.group),
                before=money(line.before, currency),
                after=money(line.after, currency),
                difference=money(line.difference, currency),
            )
            for line in made.lines
            if line.minor
        ],
        paper=f"/api/jobs/{job}/change.pdf?old={old}",
    )


def _hold(stated: Job, made: Variation) -> dict[str, Any]:
    quote = stated.stated.quote
    if quote is None or quote.agreed is None or not made.minor:
        return {}
    return {"quote.agreed": made.total, "quote.agreed_on": clock.now().date().isoformat()}


def last_change(desk: Desk, now: Now) -> ChangeView | None:
    """The change from the revision before, where the price differs."""
    if now.revision.number < 2:
        return None
    try:
        made = change_between(desk, now.row.id, now.revision.number - 1, now.revision.number)
    except SlabwrightError:
        return None  # the revision before had no price, or another currency
    return made if made.lines else None
