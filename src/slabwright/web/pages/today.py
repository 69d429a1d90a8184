"""The front page is today, over all jobs: what now, what is drying, what to order, who is to sign; two taps log an hour."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse
from pydantic import Field

from slabwright.book.rows import JobRow
from slabwright.findings import SlabwrightError
from slabwright.web import bench_log, clock
from slabwright.web.client_word import ClientWord, told
from slabwright.web.desk import Desk, DeskOf, SessionOf, device
from slabwright.web.models import ERRORS, JobId, Model
from slabwright.web.page import Page
from slabwright.web.pages import today_measures
from slabwright.web.pages.days_strip import at_bench, stretches, strip, works_on
from slabwright.web.pages.today_cards import REASONS, Ask, Card, Dries, asks, card, drying, to_do
from slabwright.web.pages.today_measures import Measure, measures
from slabwright.web.shop_days import ShopBoard, shop_days

router = APIRouter(tags=["today"])
router.include_router(today_measures.router)
_WEEK = 7
_NEXT = 4
_EVENING = 15
"""From this hour on the day's question is asked."""
_LONGEST = 60 * 24 * 31
_AHEAD = datetime.timedelta(hours=1)
"""By which the clock of a device may be ahead."""
_FAR = 366 * 5

Operation = Annotated[str, Field(min_length=1, max_length=100, description="as the plan calls it")]


class Longer(Model):
    """Something that took longer than thought."""

    job: int
    title: str
    operation: str
    at: clock.Moment = Field(description="when it was done")
    words: str = Field(description="how much longer")
    note: str = Field(description="why, once that is told")


class ClientSaid(Model):
    """What a client said that something is to be done about."""

    job: int
    title: str
    what: str = Field(description="they looked at")
    verdict: Literal["approved", "asked"]
    name: str
    revision: int = Field(description="that they looked at")
    words: str = Field(description="in their own words")
    changed: str = Field(description="what of that is different by now, in words; nothing: it still stands")


class WeekDay(Model):
    """A day of the week to come."""

    day: datetime.date
    words: str
    works: bool = Field(description="whether the shop works")
    hours: str = Field(description="at the bench, in words")
    picture: str = Field(description="SVG: bench, drying, away")


class TodayView(Model):
    """Today, over all jobs."""

    day: datetime.date
    words: str
    known: bool = Field(description="whether the days are of the newest revisions; if not, they are being worked out")
    wrong: list[str] = Field(description="why there are no days, or why a job has none")
    card: Card | None = Field(description="what now")
    further: list[Card] = Field(description="what comes next")
    drying: list[Dries]
    order: list[Ask] = Field(description="what is to be ordered, or is on its way")
    said: list[ClientSaid] = Field(description="changes that clients ask for, and approvals that no longer stand")
    sign: list[Ask] = Field(description="what clients are to sign")
    week: list[WeekDay]
    measure: list[Measure] = Field(description="what is done and not measured yet")
    longer: list[Longer] = Field(description="what took longer today; asked in the evening")
    jobs: int = Field(description="jobs that are not done")
    begun: int = Field(description="jobs of the book, done or not")


class Work(Model):
    """What happened to an operation."""

    operation: Operation
    event: Literal["started", "stopped", "done", "delayed", "failed", "approved"]
    at: clock.Moment | None = Field(None, description="when, on the shop's own clock; left out: now")
    minutes: float | None = Field(None, gt=0, le=_LONGEST, description="hands on it")
    until: clock.Moment | None = Field(None, description="of a delay")
    note: str = Field("", max_length=500)


class Line(Model):
    """A line of the log."""

    operation: Operation
    event: Literal["started", "stopped", "done", "delayed", "failed", "approved"]
    at: clock.Moment


class Note(Model):
    """Why something took as long as it did."""

    operation: Operation
    at: clock.Moment
    note: str = Field(min_length=1, max_length=500)


class Came(Model):
    """Things of the orders that came, or did not after all."""

    things: list[Annotated[str, Field(min_length=1, max_length=80)]] = Field(min_length=1, max_length=100)
    came: bool = True


class Logged(Model):
    """What was written down."""

    job: int
    revision: int = Field(description="the newest now")
    operation: str
    event: str
    at: clock.Moment | None


def _longer(board: ShopBoard, now: datetime.datetime) -> list[Longer]:
    found = []
    for one in board.jobs:
        if one.job is None or one.plan is None or one.plan.shop is None:
            continue
        done = {entry.operation: entry for entry in one.job.stated.log if entry.event == "done"}
        for slow in one.plan.shop.took_longer:
            entry = done.get(slow.operation)
            if entry is not None and entry.at.date() == now.date() and slow.difference > 0.0:
                words = f"{clock.span_words(slow.took)}, thought {clock.span_words(slow.expected)}"
                found.append(
                    Longer(
                        job=one.id, title=one.name, operation=slow.operation, at=entry.at, words=words, note=entry.note
                    )
                )
    return found


def _said(desk: Desk, rows: Iterable[JobRow]) -> list[ClientSaid]:
    """What clients said of jobs that are not done, where a change is asked for or what was approved is another by now."""
    found = []
    for row in rows:
        if row.state == "done":
            continue
        for word in desk.store.client_words(row.id, row.revision):
            signed = word.signed
            if signed.verdict == "asked" or not (word.stands or _asked_anew(desk, row, word)):
                found.append(
                    ClientSaid(
                        job=row.id,
                        title=row.title,
                        what=signed.what,
                        verdict=signed.verdict,
                        name=signed.name,
                        revision=signed.revision,
                        words=signed.words,
                        changed=told(word.changed),
                    )
                )
    return found


def _asked_anew(desk: Desk, row: JobRow, word: ClientWord) -> bool:
    """Whether the work waits again for the sign-off that a word was of: then it stands among what clients are to sign."""
    plan = desk.store.planned(row.id, row.revision).result
    operations = plan.shop.operations if plan is not None and plan.shop is not None else ()
    return word.matter is not None and any(
        one.name == word.matter.operation and one.state != "done" for one in operations
    )


def _week(board: ShopBoard, now: datetime.datetime) -> list[WeekDay]:
    assert board.task is not None
    calendar, works = board.task.shop.calendar, board.work()
    found = []
    for offset in range(_WEEK):
        day = now.date() + datetime.timedelta(days=offset)
        there = stretches(works, day)
        minutes = at_bench(there)
        open_ = works_on(calendar, day)
        hours = f"{clock.span_words(minutes)} by hand" if minutes else "nothing by hand" if open_ else "closed"
        picture = strip(there, day, calendar, now=now)
        found.append(WeekDay(day=day, words=clock.day_words(day), works=open_, hours=hours, picture=picture))
    return found


def _view(desk: Desk) -> TodayView:
    now = clock.now()
    board, known = shop_days(desk.store).now(desk.store)
    rows = desk.store.book.jobs()
    wrong = []
    if board is not None:
        wrong = [f"{one.name}: {one.wrong}" for one in board.jobs if one.wrong]
        wrong += [board.wrong] if board.wrong else []
    empty: dict[str, Any] = {
        "day": now.date(),
        "words": f"{now:%A} {now.day} {now:%B}",
        "known": known,
        "wrong": wrong,
        "jobs": sum(row.state != "done" for row in rows),
        "begun": len(rows),
        "measure": measures(board) if board is not None else [],
        "said": _said(desk, rows),
    }
    if board is None or board.schedule is None:
        return TodayView(**empty, card=None, further=[], drying=[], order=[], sign=[], week=[], longer=[])
    cards = [card(work, board, now) for work in to_do(board)[: _NEXT + 1]]
    bring, sign = asks(board, now)
    return TodayView(
        **empty,
        card=cards[0] if cards else None,
        further=cards[1:],
        drying=drying(board, now),
        order=bring,
        sign=sign,
        week=_week(board, now),
        longer=_longer(board, now) if now.hour >= _EVENING else [],
    )


@router.get("/api/today", responses=ERRORS)
def today(desk: DeskOf) -> TodayView:
    """What now, what is drying, what to order, who is to sign, and the week; over all jobs."""
    return _view(desk)


@router.get("/", response_class=HTMLResponse, include_in_schema=False)
def today_html(request: Request, desk: DeskOf) -> HTMLResponse:
    """The front page."""
    context = {"view": _view(desk), "reasons": REASONS, "frame": {"page": "today"}}
    return desk.html(request, "today.html", context, script="today.js")


@router.get("/today", include_in_schema=False)
def today_by_name() -> RedirectResponse:
    """The front page, for whoever kept its name."""
    return RedirectResponse("/", status_code=308)


@router.get("/today/body", response_class=HTMLResponse, include_in_schema=False)
def today_body(desk: DeskOf) -> HTMLResponse:
    """What of the page changes."""
    template = desk.templates.get_template("today_body.html")
    return HTMLResponse(template.render(view=_view(desk), reasons=REASONS))


@router.post("/api/today/anew", responses=ERRORS)
def anew(desk: DeskOf) -> TodayView:
    """Plan the days as early as can be, whatever moves."""
    shop_days(desk.store).anew()
    return _view(desk)


def _within(moment: datetime.datetime | None) -> None:
    if moment is not None and abs((moment - clock.now()).days) > _FAR:
        raise SlabwrightError(f"{moment:%Y-%m-%d} is years away; check the date")


@router.post("/api/jobs/{job}/log", responses=ERRORS)
def log(job: JobId, work: Work, desk: DeskOf, session: SessionOf) -> Logged:
    """Log what happened: into the job's own file, so that the plan learns of it, and into the book."""
    at = work.at or clock.now()
    _within(at)
    if at > clock.now() + _AHEAD:
        raise SlabwrightError(f"{at:%Y-%m-%d %H:%M} is still to come; log what has happened, when it has")
    _within(work.until)
    number = bench_log.log_work(
        desk.store,
        job,
        work.operation,
        work.event,
        session.name,
        device=device(session),
        at=at,
        minutes=work.minutes,
        until=work.until,
        note=" ".join(work.note.split()),
    )
    return Logged(job=job, revision=number, operation=work.operation, event=work.event, at=at)


@router.post("/api/jobs/{job}/log/take-back", responses=ERRORS)
def take_back(job: JobId, line: Line, desk: DeskOf, session: SessionOf) -> Logged:
    """Take a line of the log back."""
    number = bench_log.take_back(desk.store, job, line.operation, line.event, line.at, session.name, device(session))
    return Logged(job=job, revision=number, operation=line.operation, event="taken back", at=line.at)


@router.post("/api/jobs/{job}/log/note", responses=ERRORS)
def note(job: JobId, told: Note, desk: DeskOf, session: SessionOf) -> Logged:
    """Say why something took as long as it did."""
    said = " ".join(told.note.split())

    def values(stated: dict[str, Any]) -> dict[str, Any]:
        for number, one in enumerate(stated.get("log", [])):
            if one.get("operation") == told.operation and one.get("at") == told.at:
                return {f"log[{number}].note": said}
        raise SlabwrightError(f"the log says nothing of {told.operation!r} at that time")

    why = f"{told.operation}: {said}"[:300]
    edited = bench_log.put_on_newest(desk.store, job, values, session.name, why, device(session))
    assert edited is not None
    return Logged(job=job, revision=edited.revision, operation=told.operation, event="noted", at=told.at)


@router.post("/api/jobs/{job}/received", responses=ERRORS)
def received(job: JobId, things: Came, desk: DeskOf, session: SessionOf) -> Logged:
    """Tick things of the orders as received, or take the ticks away."""
    whole: dict[str, float | None] = dict.fromkeys(things.things)
    number = bench_log.receive(desk.store, job, whole, session.name, came=things.came, device=device(session))
    event = "received" if things.came else "not received"
    return Logged(job=job, revision=number, operation=things.things[0], event=event, at=None)


PAGE = Page("today", "Today", router)
