"""The shop's calendar: both clocks, holidays, days away, and what cannot be used."""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

from slabwright.findings import SlabwrightError
from slabwright.job.calendar_models import Away, Calendar, minutes_of
from slabwright.shop.calendar import WorkingCalendar, working_calendar

MONDAY = datetime.date(2026, 3, 2)


def test_both_clocks_agree_minute_by_minute() -> None:
    clock = working_calendar(Calendar()).timeline(MONDAY, 3000)
    works = np.zeros(int(clock.ends[-1]), dtype=bool)
    for begin, end in zip(clock.begins, clock.ends, strict=True):
        works[begin:end] = True
    worked = np.concatenate([[0], np.cumsum(works)])
    elapsed = np.arange(works.size)
    assert np.array_equal(clock.worked_by(elapsed), worked[:-1])
    minutes = np.flatnonzero(works)
    assert np.array_equal(clock.start(np.arange(minutes.size)), minutes)
    assert np.array_equal(clock.finish(np.arange(1, minutes.size + 1)), minutes + 1)
    latest = clock.latest_by(elapsed)
    assert np.array_equal(latest, worked[1:] - 1)


def test_holidays_days_away_and_weekends_are_not_worked() -> None:
    stated = Calendar(
        friday=["07:00-11:00"],
        holidays=[datetime.date(2026, 3, 3)],
        away=[Away(first=datetime.date(2026, 3, 4), last=datetime.date(2026, 3, 5))],
    )
    clock = working_calendar(stated).timeline(MONDAY, 1000)
    assert clock.moment(float(clock.start(510))) == datetime.datetime(2026, 3, 6, 7, 0)
    assert clock.moment(float(clock.finish(510))) == datetime.datetime(2026, 3, 2, 17, 0)
    assert clock.moment(float(clock.start(750))) == datetime.datetime(2026, 3, 9, 8, 0)


def test_public_holidays_of_a_country() -> None:
    """1 January is a public holiday in Germany; 6 January only in some of its states (their own holiday laws)."""
    day = datetime.date(2026, 1, 1)
    assert working_calendar(Calendar(country="DE")).timeline(day, 1).moment(0).date() == day
    for region, first in (("BY", 7), ("BE", 6)):
        clock = working_calendar(Calendar(country="DE", region=region)).timeline(datetime.date(2026, 1, 6), 1)
        assert clock.moment(float(clock.begins[0])).day == first


def test_stretches_that_touch_at_midnight_are_one() -> None:
    clock = WorkingCalendar((((0, 1440),),) * 7).timeline(MONDAY, 5000)
    assert clock.begins.size == 1
    assert clock.pieces(1000, 3000) == [(1000, 3000)]


def test_pieces_leave_out_breaks_and_nights() -> None:
    clock = working_calendar(Calendar()).timeline(MONDAY, 2000)
    assert clock.pieces(200, 600) == [(680, 720), (750, 1020), (1440 + 480, 1440 + 570)]


@pytest.mark.parametrize("hours", ["8-12", "08:00-25:00", "08:61-12:00", "12:00-08:00", "", "08:00"])
def test_hours_that_are_none(hours: str) -> None:
    with pytest.raises(ValueError, match=r"hours are written|no time of a day|before it begins"):
        minutes_of(hours)


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        ({key: [] for key in ("monday", "tuesday", "wednesday", "thursday", "friday")}, "no day of the week"),
        ({"monday": ["08:00-12:00", "11:00-17:00"]}, "hours of monday overlap"),
        ({"holidays": ["Christmas"]}, "must be a date, such as"),
        ({"away": [{"first": "2026-03-05", "last": "2026-03-04"}]}, "last must not be before first"),
        ({"region": "BY"}, "region needs its country"),
    ],
)
def test_calendars_that_cannot_be_used(stated: dict[str, object], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        Calendar.model_validate(stated)


def test_a_calendar_that_never_works_is_told() -> None:
    with pytest.raises(SlabwrightError, match="there is no working day; state working hours"):
        WorkingCalendar(((),) * 7).timeline(MONDAY, 1)
    away = Calendar(away=[Away(first=MONDAY, last=datetime.date(2060, 1, 1))])
    with pytest.raises(SlabwrightError, match="there is no working day"):
        working_calendar(away).timeline(MONDAY, 1)


@pytest.mark.parametrize(
    ("country", "region", "words"), [("QQ", None, "no public holidays"), ("DE", "ZZ", "DE has no ZZ")]
)
def test_a_country_that_is_not_known(country: str, region: str | None, words: str) -> None:
    with pytest.raises(SlabwrightError, match=words):
        working_calendar(Calendar(country=country, region=region))


def test_the_shop_file_takes_dates_with_and_without_quotes(tmp_path: Path) -> None:
    from slabwright.job.load import load_job

    (tmp_path / "job.toml").write_text('[job]\ntitle = "Desk"\n', encoding="utf-8")
    (tmp_path / "shop.toml").write_text(
        '[calendar]\nsaturday = ["08:00-12:00"]\nholidays = [2026-12-24, "2026-12-31"]\n', encoding="utf-8"
    )
    calendar = load_job(tmp_path / "job.toml").shop.calendar
    assert calendar.holidays == [datetime.date(2026, 12, 24), datetime.date(2026, 12, 31)]
    assert calendar.week[5] == ((480, 720),)
    (tmp_path / "shop.toml").write_text(
        "[calendar]\nmonday = []\ntuesday = []\nwednesday = []\nthursday = []\nfriday = []\n", encoding="utf-8"
    )
    with pytest.raises(SlabwrightError, match=r"shop\.toml:1: calendar: no day of the week has working hours"):
        load_job(tmp_path / "job.toml")
