"""History: every revision, what is different between two, undo, and what somebody could not save."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse
from pydantic import Field

from slabwright.book.comparing import changes
from slabwright.book.rows import Change, RevisionRow
from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.job.happened import HAPPENED, what_happened
from slabwright.web.desk import Desk, DeskOf, SessionOf, device
from slabwright.web.models import ERRORS, GREATEST, Edited, JobId, JobView, Model, Movement, Number
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.store import NotThere, Now

router = APIRouter()
DraftId = Annotated[int, InPath(ge=1, le=GREATEST, description="the draft's number in the book")]
RevisionNumber = Annotated[int, Query(ge=1, le=GREATEST, description="a revision's number")]


class RevisionView(Model):
    """A revision."""

    number: int
    who: str
    when: datetime
    why: str
    title: str
    based_on: int | None


class DraftView(Model):
    """What somebody was about to save when another had been quicker."""

    id: int
    based_on: int
    newest: int = Field(description="the revision that had come before it")
    who: str
    when: datetime
    why: str


class HistoryView(JobView):
    """The revisions of a job."""

    revisions: list[RevisionView] = Field(description="newest first")
    drafts: list[DraftView] = Field(description="that nobody has seen to yet")


class ChangeView(Model):
    """One difference between the files of two revisions."""

    file: str
    key: str = Field(description="of a TOML file; nothing where the file as a whole is told")
    old: str | None
    new: str | None


class Comparison(Model):
    """What is different between two revisions: what was stated, and what came of it."""

    old: int
    new: int
    stated: list[ChangeView]
    came: Movement


class Restore(Model):
    """Which revision comes back."""

    number: Number = Field(description="what it stated becomes a new revision; the ones in between stay in the book")
    why: str = Field("", max_length=300)
    as_it_was: bool = Field(False, description="whether what happened since (log, deliveries, checks) is left out too")


class GoingBack(Model):
    """What bringing a revision back would take away."""

    number: int
    newest: int
    takes_back: list[RevisionView] = Field(description="the revisions since, whose changes are undone; newest first")
    stated: list[ChangeView] = Field(description="what would be stated otherwise: now, and then")
    happened: list[str] = Field(description="what happened since and stays, in words; nothing: nothing did")
    only_happened: bool = Field(description="whether nothing but what happened is different")
    refused: str = Field(description="why what happened since cannot stay; nothing where it can")


class Settled(Model):
    """A draft that was seen to."""

    draft: int


def _view(desk: Desk, now: Now) -> HistoryView:
    job = now.row.id
    rows = reversed(desk.store.book.revisions(job))
    return HistoryView(
        head=desk.head(now),
        revisions=[_revision_view(row) for row in rows],
        drafts=[
            DraftView(id=row.id, based_on=row.based_on, newest=row.newest, who=row.who, when=row.when, why=row.why)
            for row in desk.store.book.drafts(job)
        ],
    )


def _revision_view(row: RevisionRow) -> RevisionView:
    return RevisionView(
        number=row.number, who=row.who, when=row.when, why=row.why, title=row.title, based_on=row.based_on
    )


def _change_view(one: Change) -> ChangeView:
    return ChangeView(file=one.file, key=one.key, old=one.old, new=one.new)


def _compared(desk: Desk, job: int, old: int, new: int) -> Comparison:
    came = desk.store.movement(job, old, new)
    found = desk.store.book.compare(job, old, new)
    return Comparison(old=old, new=new, stated=[_change_view(one) for one in found], came=came)


@router.get("/api/jobs/{job}/compare", responses=ERRORS, tags=["history"])
def compare(job: JobId, desk: DeskOf, old: RevisionNumber, new: RevisionNumber) -> Comparison:
    """What is different between two revisions."""
    return _compared(desk, job, old, new)


@router.get("/jobs/{job}/compare", response_class=HTMLResponse, include_in_schema=False)
def compare_html(request: Request, job: JobId, desk: DeskOf, old: RevisionNumber, new: RevisionNumber) -> HTMLResponse:
    """The same as a page."""
    now = desk.store.now(job)
    context = {
        "view": _compared(desk, job, old, new),
        "head": desk.head(now),
        "now": now,
        "frame": {"page": "history", "job": job, "revision": now.revision.number},
    }
    return desk.html(request, "compare.html", context, script="history.js")


@router.get("/jobs/{job}/moved", response_class=HTMLResponse, include_in_schema=False)
def moved_html(request: Request, job: JobId, desk: DeskOf, since: RevisionNumber) -> HTMLResponse:
    """What moved since a revision, as a piece of a page."""
    came = desk.store.movement(job, since, desk.store.row(job).revision)
    return desk.html(request, "moved.html", {"came": came, "job": job})


@router.get("/api/jobs/{job}/going-back", responses=ERRORS, tags=["history"])
def what_goes_back(job: JobId, desk: DeskOf, number: RevisionNumber) -> GoingBack:
    """What bringing a revision back would take away, and what stays: to be read before it is done."""
    newest, old = desk.store.revision(job), desk.store.revision(job, number)
    refused = ""
    try:
        then = desk.store.restored(job, number)
    except NotThere:
        raise
    except SlabwrightError as error:
        refused, then = " ".join(str(error).split()), old.files
    differs = changes(newest.files, old.files)
    stated = [one for one in changes(newest.files, then) if not any(_tells_of(one, key) for key in HAPPENED)]
    happened = [key for key in HAPPENED if any(_tells_of(one, key) for one in differs)]
    before, now = what_happened(old.files), what_happened(newest.files)
    rows = [row for row in desk.store.book.revisions(job) if row.number > number]
    return GoingBack(
        number=number,
        newest=newest.number,
        takes_back=[_revision_view(row) for row in reversed(rows)],
        stated=[_change_view(one) for one in stated],
        happened=[_more(HAPPENED[key], now.get(key, 0) - before.get(key, 0)) for key in happened],
        only_happened=bool(happened) and not stated,
        refused=refused,
    )


def _tells_of(change: Change, key: str) -> bool:
    return change.file == JOB_FILE and (change.key == key or change.key.startswith((f"{key}.", f"{key}[")))


def _more(words: str, entries: int) -> str:
    return f"{words}, {entries} entries more" if entries > 1 else words


@router.post("/api/jobs/{job}/restore", responses=ERRORS, tags=["history"])
def restore(job: JobId, wanted: Restore, desk: DeskOf, session: SessionOf) -> Edited:
    """Bring an earlier revision back as a new one: this is also how a change is undone."""
    return desk.store.restore(
        job, wanted.number, session.name, wanted.why, as_it_was=wanted.as_it_was, device=device(session)
    )


def _draft_of(desk: Desk, job: int, draft: int) -> None:
    desk.store.row(job)
    if draft not in {row.id for row in desk.store.book.drafts(job, settled=True)}:
        raise NotThere(f"job {job} has no draft {draft}")


@router.get("/api/jobs/{job}/drafts/{draft}", responses=ERRORS, tags=["history"])
def draft_of(job: JobId, draft: DraftId, desk: DeskOf) -> list[ChangeView]:
    """What a draft states otherwise than the newest revision."""
    _draft_of(desk, job, draft)
    newest = desk.store.revision(job)
    found = changes(newest.files, desk.store.book.draft(draft).files)
    return [_change_view(one) for one in found]


@router.post("/api/jobs/{job}/drafts/{draft}/take", responses=ERRORS, tags=["history"])
def take_draft(job: JobId, draft: DraftId, based_on: RevisionNumber, desk: DeskOf, session: SessionOf) -> Edited:
    """Put what a draft changed on top of the newest revision.

    Only what the draft changed is taken: what others changed since stays, unless it is the same key or file.
    """
    from slabwright.web.drafts import on_top

    _draft_of(desk, job, draft)
    kept = desk.store.book.draft(draft)
    base = desk.store.revision(job, kept.based_on)
    files = on_top(desk.store.revision(job, based_on).files, base.files, kept.files)
    if files == desk.store.revision(job, based_on).files:
        raise SlabwrightError(f"draft {draft} says nothing that revision {based_on} does not say already; set it aside")
    edited = desk.store.save(
        job, files, based_on, session.name, f"draft {draft} put on top: {kept.why}"[:300], device=device(session)
    )
    desk.store.book.settle_draft(draft, session.name)
    return edited


@router.post("/api/jobs/{job}/drafts/{draft}/settle", responses=ERRORS, tags=["history"])
def settle_draft(job: JobId, draft: DraftId, desk: DeskOf, session: SessionOf) -> Settled:
    """Set a draft aside; it stays in the book."""
    _draft_of(desk, job, draft)
    desk.store.book.settle_draft(draft, session.name)
    return Settled(draft=draft)


def _standing(now: Now) -> Standing:
    return Standing("done", f"revision {now.revision.number}")


job_page(router, "history", HistoryView, _view, script="history.js")

PAGE = Page("history", "History", router, _standing)
