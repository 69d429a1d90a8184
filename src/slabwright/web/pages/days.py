"""The days of a job, among all jobs of the shop: a strip a day, a promise with its chances, what conflicts, pins by date."""

from __future__ import annotations

import dataclasses
import datetime
from typing import Any

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response
from pydantic import Field

from slabwright.shop.ready_dates import times_in_100
from slabwright.web import clock
from slabwright.web.desk import Desk, DeskOf
from slabwright.web.figures import problems
from slabwright.web.models import ERRORS, JobId, JobView, Model
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.pages import days_changes
from slabwright.web.pages.days_strip import Stretch, at_bench, stretches, strip, works_on
from slabwright.web.pages.days_ways import Way, together_words, ways
from slabwright.web.shop_days import ShopBoard, Work, shop_days
from slabwright.web.store import NotThere, Now

router = APIRouter(tags=["days"])
router.include_router(days_changes.router)
_FURTHEST = 366


class Doing(Model):
    """One operation of a day."""

    operation: str = Field(description="as the log calls it")
    words: str = Field(description="with its part, where it is done in parts")
    lane: str = Field(description="bench, drying or away")
    when: str = Field(description="from and to, in words")
    minutes: str = Field(description="by hand, in words; nothing where it waits by itself")
    start: clock.Moment
    pinned: clock.Moment | None
    can_pin: bool = Field(description="whether it can be pinned: it is by hand, and not done")
    state: str = Field(description="planned, started or done")


class DayOf(Model):
    """A day, or several on which nothing is."""

    day: datetime.date
    last: datetime.date = Field(description="the same, or the last of several on which nothing is by hand")
    words: str
    works: bool
    hours: str = Field(description="by hand for this job, in words")
    others: str = Field(description="what other jobs have that day")
    short: str = Field(description="the first of what is done")
    picture: str = Field(description="SVG: this job, and the others paler")
    doings: list[Doing]


class Promise(Model):
    """A day that could be promised."""

    words: str
    day: datetime.date
    told: str = Field(description="the day in words")
    costs: str = Field(description="what it costs, or how often it holds")
    chosen: bool


class Shift(Model):
    """An operation that starts at another time than in the days before."""

    words: str
    then: str
    now: str


class DaysView(JobView):
    """The days of a job, among all jobs of the shop."""

    known: bool = Field(description="whether the days are of the newest revisions; if not, they are being worked out")
    wrong: str = Field(description="why there are no days, or nothing")
    others: list[str] = Field(description="the other jobs that the days share the shop with")
    finish: clock.Moment | None = Field(description="when it is finished if every time is kept")
    even: clock.Moment | None = Field(description="ready by then with even chance")
    sure: clock.Moment | None = Field(description="ready by then 4 times in 5")
    promised: datetime.date | None
    kept: str = Field(description="how often the promise is kept, in words")
    late: str = Field(description="by how much the promise is missed if every time is kept, or nothing")
    promises: list[Promise]
    together: list[str] = Field(description="what cannot all be kept")
    ways: list[Way] = Field(description="what would free it")
    pins: list[str] = Field(description="pinned times that were let go, and why")
    moved: list[Shift] = Field(description="what moved when the days were planned again")
    untouched: int = Field(description="operations that kept their time then")
    days: list[DayOf]


def _view(desk: Desk, now: Now) -> DaysView:
    head = desk.head(now)
    board, known = shop_days(desk.store).now(desk.store)
    moment = clock.now()
    found = problems(now.planned, ("calendar", "shop"))
    one = board.job(now.row.id) if board is not None else None
    empty: dict[str, Any] = {
        "head": head,
        "problems": [
            problem for problem in found if problem.code.startswith(("shop/conflict", "calendar", "shop/hours"))
        ],
        "known": known,
        "wrong": "",
        "others": [],
        "finish": None,
        "even": None,
        "sure": None,
        "promised": now.planned.result.job.stated.job.promised if now.planned.result else None,
        "kept": "",
        "late": "",
        "promises": [],
        "together": [],
        "ways": [],
        "pins": [],
        "moved": [],
        "untouched": 0,
        "days": [],
    }
    if board is None:
        return DaysView(**empty)
    if now.row.state == "done":
        return DaysView(**empty | {"wrong": "The job is done: it has no days any more.", "known": True})
    if one is None or one.wrong or board.wrong or not one.operations:
        wrong = board.wrong or (one.wrong if one is not None else "")
        waits = "Not worked out: the days wait for a slab, read or planned, and its hours." if known else ""
        return DaysView(**empty | {"wrong": wrong or waits, **_clash(board)})
    assert board.task is not None or not board.work()
    works = board.work()
    if board.schedule is None or not any(work.job.id == one.id for work in works):
        return DaysView(**empty | {"wrong": "Nothing of this job is left to do." if known else ""})
    assert board.ready is not None
    promised, name = empty["promised"], one.name
    even, sure = board.ready.ready_even[name], board.ready.ready_4_in_5[name]
    late, kept = board.schedule.late.get(name, 0.0), board.ready.kept.get(name)
    prefix = f"{name}: "
    mine = [(words, then, new) for words, then, new in board.moved if words.startswith(prefix)]
    shifts = [
        Shift(
            words=words.removeprefix(prefix),
            then=clock.moment_words(then, moment.date()),
            now=clock.moment_words(new, moment.date()),
        )
        for words, then, new in mine
    ]
    still = sum(work.job.id == one.id and bool(work.planned.pieces) for work in works) - len(mine)
    return DaysView(
        **empty
        | {
            "others": [
                other.name for other in board.jobs if other.id != one.id and other.operations and not other.wrong
            ],
            "finish": board.schedule.finish[name],
            "even": even,
            "sure": sure,
            "kept": _kept_words(kept),
            "late": clock.span_words(late) if late > 0.0 else "",
            "promises": _promises(promised, even, sure, kept, moment.date()),
            **_clash(board),
            "pins": [f"{operation}: {why}" for job, operation, why in board.late_pins if job == one.id],
            "moved": shifts,
            "untouched": still if shifts else 0,
            "days": _days(board, works, one.id, moment),
        }
    )


def _clash(board: ShopBoard) -> dict[str, Any]:
    return {"together": together_words(board), "ways": ways(board)}


def _kept_words(kept: float | None) -> str:
    return "" if kept is None else f"kept {times_in_100(kept)}"


def _promises(
    promised: datetime.date | None,
    even: clock.Moment,
    sure: clock.Moment,
    kept: float | None,
    today: datetime.date,
) -> list[Promise]:
    """The days that could be promised, side by side."""
    wanted = [
        ("Even chance", even.date(), "kept about 50 times in 100"),
        ("4 in 5", sure.date(), f"kept about 80 times in 100; {_later(even.date(), sure.date())}"),
    ]
    found = [
        Promise(words=words, day=day, told=clock.day_words(day, today), costs=costs, chosen=day == promised)
        for words, day, costs in wanted
    ]
    if promised is not None and not any(one.chosen for one in found):
        told = clock.day_words(promised, today)
        found.insert(0, Promise(words="Promised", day=promised, told=told, costs=_kept_words(kept), chosen=True))
    return found


def _later(first: datetime.date, second: datetime.date) -> str:
    days = (second - first).days
    return "the same day" if days == 0 else f"{days} day{'s' if days != 1 else ''} later"


def _days(board: ShopBoard, works: list[Work], job: int, now: datetime.datetime) -> list[DayOf]:
    assert board.task is not None
    calendar = board.task.shop.calendar
    mine = [work for work in works if work.job.id == job]
    last = max(work.planned.finish_at for work in mine).date()
    first = min(now.date(), last)
    found: list[DayOf] = []
    for offset in range(min((last - first).days + 1, _FURTHEST)):
        day = first + datetime.timedelta(days=offset)
        there = stretches(works, day)
        own = [one for one in there if one.work.job.id == job]
        other = sorted({one.work.job.name for one in there if one.work.job.id != job and one.lane != "away"})
        minutes = at_bench(own, job)
        doings = _doings(own, day)
        by_hand = any(one.minutes for one in doings)
        quiet = sorted(doings, key=lambda one: one.lane == "away")
        names = list(dict.fromkeys(one.words for one in quiet if one.minutes or not by_hand))
        short = ", ".join(names[:2]) + (f" and {len(names) - 2} more" if len(names) > 2 else "")
        open_ = works_on(calendar, day)
        before = found[-1] if found else None
        if before is not None and not by_hand and not before.picture and before.short == short:
            told = f"{clock.day_words(before.day, now.date())} to {clock.day_words(day, now.date())}"
            found[-1] = before.model_copy(update={"last": day, "words": told, "works": before.works or open_})
            continue
        found.append(
            DayOf(
                day=day,
                last=day,
                words=clock.day_words(day, now.date()),
                works=open_,
                hours=clock.span_words(minutes) + " by hand" if minutes else "",
                others=", ".join(other),
                short=short,
                picture=strip(there, day, calendar, own=job, now=now)
                if by_hand or (there and day == now.date())
                else "",
                doings=doings,
            )
        )
    return found


def _doings(own: list[Stretch], day: datetime.date) -> list[Doing]:
    found: list[Doing] = []
    for one in own:
        work = one.work
        attended = any(start <= one.start < finish for start, finish in work.planned.pieces)
        whole = one.finish - one.start >= datetime.timedelta(hours=24)
        end = "midnight" if one.finish.date() > day else f"{one.finish:%H:%M}"
        minutes = (one.finish - one.start).total_seconds() / 60.0
        found.append(
            Doing(
                operation=work.operation.name,
                words=work.words,
                lane=one.lane,
                when="all day" if whole else f"{one.start:%H:%M} to {end}",
                minutes=clock.span_words(minutes) if attended else "",
                start=work.planned.start_at,
                pinned=work.operation.pinned,
                can_pin=attended and work.planned.state == "planned" and work.planned.start_at == one.start,
                state=work.planned.state,
            )
        )
    return found


@router.get("/jobs/{job}/days/body", response_class=HTMLResponse, include_in_schema=False)
def body(job: JobId, desk: DeskOf) -> HTMLResponse:
    """What of the page changes when the days are worked out."""
    view = _view(desk, desk.store.now(job))
    return HTMLResponse(desk.templates.get_template("days_body.html").render(view=view, head=view.head))


_CALENDAR: dict[int | str, dict[str, Any]] = {
    200: {"content": {"text/calendar": {}}, "description": "the days as a calendar"}
}


def _calendar(desk: Desk, job: int | None) -> Response:
    from slabwright.shop.icalendar_export import icalendar_text

    board, known = shop_days(desk.store).now(desk.store)
    if board is None or not known:
        raise NotThere("the days are being worked out; ask again in a few seconds")
    if board.task is None or board.schedule is None:
        raise NotThere("there are no days to write into a calendar")
    task, schedule = board.task, board.schedule
    name = "days"
    if job is not None:
        one = board.job(job)
        if one is None or one.name not in schedule.finish:
            raise NotThere(f"job {job} has no days to write into a calendar")
        task = dataclasses.replace(task, operations=tuple(each for each in task.operations if each.job == one.name))
        schedule = dataclasses.replace(
            schedule,
            operations=tuple(each for each in schedule.operations if each.job == one.name),
            finish={one.name: schedule.finish[one.name]},
        )
        name = f"job-{job}-days"
    headers = {"content-disposition": f'attachment; filename="{name}.ics"'}
    return Response(icalendar_text(task, schedule), media_type="text/calendar", headers=headers)


@router.get("/api/days.ics", response_class=Response, responses={**ERRORS, **_CALENDAR})
def all_days_calendar(desk: DeskOf) -> Response:
    """The days of all jobs as a calendar file."""
    return _calendar(desk, None)


@router.get("/api/jobs/{job}/days.ics", response_class=Response, responses={**ERRORS, **_CALENDAR})
def days_calendar(job: JobId, desk: DeskOf) -> Response:
    """The days of a job as a calendar file."""
    desk.store.row(job)
    return _calendar(desk, job)


def _standing(now: Now) -> Standing:
    result = now.planned.result
    if result is None or result.shop is None or not result.shop.operations:
        return Standing("waiting", "waits for the slab")
    left = sum(operation.state != "done" for operation in result.shop.operations)
    if now.row.state == "done" or not left:
        return Standing("done", "all done")
    promised = result.job.stated.job.promised
    if promised is None:
        return Standing("ready", "no day promised")
    return Standing("ready", f"promised {clock.day_words(promised)}")


job_page(router, "days", DaysView, _view, script="days.js")

PAGE = Page("days", "Days", router, _standing)
