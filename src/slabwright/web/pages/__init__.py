"""Every page, in the order of the work. A page is one module with a router and its `PAGE`, one template, and an ES module."""

from __future__ import annotations

from slabwright.web.page import Page
from slabwright.web.pages import (
    base,
    brief,
    client,
    days,
    delivery,
    finish,
    history,
    jobs,
    price,
    readings,
    sheets,
    slab,
    stated,
    today,
    top,
)

PAGES: tuple[Page, ...] = (
    today.PAGE,
    jobs.PAGE,
    brief.PAGE,
    slab.PAGE,
    readings.PAGE,
    top.PAGE,
    base.PAGE,
    finish.PAGE,
    delivery.PAGE,
    days.PAGE,
    price.PAGE,
    client.PAGE,
    sheets.PAGE,
    stated.PAGE,
    history.PAGE,
)
"""Steps stand in this order in the line at the top: brief, slab, top, base, finish, delivery, days, price, client, sheets,
stated, history."""
