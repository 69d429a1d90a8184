"""When the next coat goes on: windows, the shop's hours, and how it is said."""

from __future__ import annotations

from datetime import datetime

import pytest

from slabwright.finish.coating_times import SheetTimes, time_at
from slabwright.finish.windows import Calendar, Then, better_start, between_words, hours_words, next_window

TUESDAY = datetime(2026, 12, 1)
DAY = Calendar(8.0, 20.0)


def at(day: int, clock: str) -> datetime:
    hour, minute = clock.split(":")
    return datetime(2026, 12, day, int(hour), int(minute))


def times(
    without: tuple[float, float | None], scuffed: tuple[float, float | None] = (16.0, None), sand: float = 24.0
) -> SheetTimes:
    return SheetTimes(without, scuffed, sand, 120.0, 60.0, 168.0, "as the sheet says")


def test_coat_next_between_six_and_nine_tonight() -> None:
    open_late = Calendar(8.0, 22.0)
    window, begin = next_window(times((8.0, 11.0)), "coat", at(1, "10:00"), 30.0, open_late)
    assert window.words == "between 18:00 and 21:00 tonight"
    assert begin == at(1, "18:00") and not window.missed
    assert (window.opens, window.closes) == ("2026-12-01T18:00", "2026-12-01T21:00")
    assert next_window(times((8.0, 11.0)), "coat", at(1, "10:00"), 30.0, open_late, 12)[0].words == (
        "between 6 pm and 9 pm tonight"
    )


def test_the_next_coat_has_to_be_done_before_the_shop_closes() -> None:
    window, begin = next_window(times((8.0, 40.0)), "coat", at(1, "11:00"), 90.0, DAY)
    assert begin == at(2, "08:00")
    assert window.words == "between 08:00 and 18:30 tomorrow" and window.begin_by == "2026-12-02T18:30"


def test_a_missed_greatest_means_scuff_and_coat() -> None:
    window, begin = next_window(times((8.0, 12.0)), "coat", at(1, "15:00"), 30.0, DAY)
    assert window.missed and window.way == "after scuffing" and begin == at(2, "08:00")
    assert (window.least, window.greatest) == (16.0, None)


def test_sanding_makes_the_greatest_moot_and_time_to_sand_governs() -> None:
    window, begin = next_window(times((1.0, 2.0), sand=20.0), "sand", at(1, "15:00"), 30.0, DAY)
    assert (window.way, window.least, window.greatest, window.missed) == ("after sanding", 20.0, None, False)
    assert begin == at(2, "11:00")


def test_where_scuffing_is_too_late_too_it_is_sanded() -> None:
    window, _ = next_window(times((1.0, 2.0), (3.0, 6.0), 24.0), "coat", at(1, "19:30"), 30.0, DAY)
    assert window.missed and window.way == "after sanding"


def test_days_on_which_nobody_is_there() -> None:
    calendar = Calendar(8.0, 20.0, frozenset({"Wednesday", "Thursday"}))
    _, begin = next_window(times((10.0, None)), "coat", at(1, "15:00"), 30.0, calendar)
    assert begin == at(4, "08:00")


def test_without_a_start_hours_are_told() -> None:
    window, begin = next_window(times((8.0, 96.0)), "coat", None, 30.0, DAY)
    assert begin is None and window.words == "8 h to 4 days after" and window.opens is None
    assert next_window(times((0.5, None)), "coat", None, 30.0, DAY)[0].words == "after 30 min"


@pytest.mark.parametrize("then", ["coat", "scuff"])
def test_a_better_start_is_tried_and_meets_the_window(then: Then) -> None:
    sheet = times((8.0, 12.0), (8.0, 12.0))
    assert next_window(sheet, then, at(1, "15:30"), 30.0, DAY)[0].missed
    assert better_start(sheet, then, at(1, "15:00"), None, 30.0, 30.0, DAY) == at(1, "19:30")
    assert not next_window(sheet, then, at(1, "20:00"), 30.0, DAY)[0].missed
    assert better_start(sheet, then, at(1, "15:00"), at(1, "17:00"), 30.0, 30.0, DAY) is None
    # The first coat may go on earlier the same day: 11:00, and the next one at 19:30.
    assert better_start(sheet, then, at(1, "15:00"), None, 30.0, 30.0, DAY, first=True) == at(1, "11:00")


def test_words_stay_inside_the_window() -> None:
    assert between_words(at(1, "12:23"), at(1, "15:58"), TUESDAY) == "between 12:25 and 15:55 today"
    assert between_words(at(1, "12:23"), at(1, "12:24"), TUESDAY) == "at 12:23 today"
    assert between_words(at(4, "09:00"), at(4, "10:00"), TUESDAY) == "between 09:00 and 10:00 on Friday 4 December"
    assert (hours_words(10.72), hours_words(72.0)) == ("10.7 h", "3 days")


def test_a_shop_that_is_closed_for_weeks_is_told() -> None:
    never = Calendar(
        8.0, 20.0, frozenset({"Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"})
    )
    with pytest.raises(ValueError, match="closed for weeks"):
        never.next_start(at(1, "09:00"), 30.0)


def test_times_beyond_the_sheet_follow_the_rule_and_nothing_stays_nothing() -> None:
    points = [(10.0, 16.0), (20.0, 7.0)]
    cold, warm = time_at(points, 0.0, 2.0), time_at(points, 30.0, 2.0)
    assert [cold[0], warm[0]] == pytest.approx([32.0, 3.5])
    assert cold[1] == warm[1] == "by the temperature rule"
    assert time_at([(20.0, 0.0)], 5.0, 2.0)[0] == 0.0
    assert time_at([(10.0, 2.0), (20.0, 0.0)], 15.0, 2.0)[0] == 1.0
