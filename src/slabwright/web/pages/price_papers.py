"""The papers of a price: the quote, an invoice for each payment, the page of a change; and what a change came to."""

from __future__ import annotations

import dataclasses
from typing import Annotated, Any

from fastapi import APIRouter, Query
from fastapi import Path as InPath
from fastapi.responses import Response

from slabwright.plan import Plan
from slabwright.sheets.edition import job_in
from slabwright.shop.price_results import Price
from slabwright.web import clock
from slabwright.web.desk import Desk, DeskOf
from slabwright.web.editions import called, edition_of
from slabwright.web.models import ERRORS, GREATEST, JobId
from slabwright.web.pages.price_changes import ChangeView, change_between, variation_of
from slabwright.web.pages.price_lines import price_of
from slabwright.web.shop_days import shop_days
from slabwright.web.store import NotThere, Now

router = APIRouter(tags=["price"])
OldRevision = Annotated[int, Query(ge=1, le=GREATEST, description="the earlier revision")]
_PDF: dict[int | str, dict[str, Any]] = {200: {"content": {"application/pdf": {}}, "description": "the paper"}}


def _pdf(data: bytes, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}.pdf"'}
    return Response(data, media_type="application/pdf", headers=headers)


def _priced(desk: Desk, job: int) -> tuple[Now, Plan, Price]:
    now = desk.store.now(job)
    price = price_of(now.planned.result)[0]
    if now.planned.result is None or price is None:
        raise NotThere(f"job {job} has no price yet")
    return now, now.planned.result, price


@router.get("/api/jobs/{job}/quote.pdf", response_class=Response, responses={**ERRORS, **_PDF})
def quote_paper(job: JobId, desk: DeskOf) -> Response:
    """The quote for the client, without the maker's insides."""
    from slabwright.sheets.quote_pages import quote_pdf
    from slabwright.sheets.shop_files import quote_for_client

    now, result, price = _priced(desk, job)
    board, known = shop_days(desk.store).now(desk.store)
    ready = None
    one = board.job(job) if board is not None and known else None
    if one is not None and board is not None and board.ready is not None and one.name in board.ready.ready_even:
        ready = (board.ready.ready_even[one.name].date(), board.ready.ready_4_in_5[one.name].date())
    stated = job_in(result.job, edition_of(now.revision))
    quote = quote_for_client(dataclasses.replace(result, job=stated), price, ready)
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
    return change_between(desk, job, old, desk.store.revision(job).number, days=True)


@router.get("/api/jobs/{job}/change.pdf", response_class=Response, responses={**ERRORS, **_PDF})
def change_paper(job: JobId, old: OldRevision, desk: DeskOf) -> Response:
    """The page of a change, to be signed."""
    from slabwright.sheets.quote_pages import variation_pdf

    now = desk.store.now(job)
    new = now.revision.number
    made, stated, price = variation_of(desk, job, old, new, days=True)
    paper = variation_pdf(job_in(stated, edition_of(now.revision)), made, price.currency)
    return _pdf(paper, called(now.row, new, f"change-since-{old}"))
