"""Coatings in general: times shorten with warmth, batches add up, the next coat never leaves its window."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.unit.finish_job import paint

from slabwright.finish.batches import batches
from slabwright.finish.coating_times import SheetTimes, time_at
from slabwright.finish.windows import Calendar, Then, next_window, window_of
from slabwright.job.finish_models import Coating

SHEET = Coating.model_validate(paint())
hours = st.floats(0.1, 200.0)
spans = st.tuples(hours, st.none() | st.floats(0.1, 100.0)).map(
    lambda pair: (pair[0], None if pair[1] is None else pair[0] + pair[1])
)


@given(
    st.lists(st.floats(0.1, 1000.0), min_size=1, max_size=5, unique=True),
    st.floats(-5.0, 45.0),
    st.floats(0.1, 20.0),
    st.floats(1.2, 4.0),
)
def test_it_takes_no_longer_where_it_is_warmer(found: list[float], at: float, more: float, factor: float) -> None:
    points = [(5.0 + 8.0 * k, time) for k, time in enumerate(sorted(found, reverse=True))]
    cool, warm = time_at(points, at, factor)[0], time_at(points, at + more, factor)[0]
    assert warm <= cool * (1.0 + 1e-12)


@given(st.floats(0.01, 50.0), st.floats(1.0, 2000.0), st.floats(30.0, 600.0))
def test_batches_add_up_and_each_is_used_up_in_time(litres: float, minutes: float, pot_life: float) -> None:
    mixed = batches(SHEET, litres, minutes, pot_life)
    assert mixed.usable is not None
    assert minutes / mixed.count <= mixed.usable * (1.0 + 1e-9)
    assert mixed.count == 1 or minutes / (mixed.count - 1) > mixed.usable * (1.0 - 1e-9)
    assert mixed.count * sum(part.volume or 0.0 for part in mixed.parts) == pytest.approx(litres)


@given(
    spans, spans, st.floats(0.1, 100.0), st.sampled_from(["coat", "scuff", "sand"]), st.integers(0, 20_000),
    st.floats(1.0, 600.0),
)  # fmt: skip
def test_the_next_coat_begins_in_its_window_while_the_shop_is_open(
    without: tuple[float, float | None],
    scuffed: tuple[float, float | None],
    sand: float,
    then: Then,
    minute: int,
    work: float,
) -> None:
    times = SheetTimes(without, scuffed, sand, None, None, 100.0, "as the sheet says")
    calendar = Calendar(8.0, 18.0, frozenset({"Sunday"}))
    done = datetime(2026, 11, 30) + timedelta(minutes=minute)
    window, begin = next_window(times, then, done, work, calendar)
    assert begin is not None
    least, greatest = window_of(times, window.way)
    waited = (begin - done).total_seconds() / 3600.0
    assert waited >= least - 1e-3
    assert greatest is None or waited <= greatest + 1e-3
    span = calendar.span(begin)
    assert span is not None and span[0] <= begin <= span[1]
    assert begin + timedelta(minutes=work) <= span[1] + timedelta(seconds=2)
