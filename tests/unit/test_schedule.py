"""The schedule on small shops: waiting, windows, dust, hot work, gates, what is wrong, planning again, ready dates."""

from __future__ import annotations

import datetime
import pickle
import subprocess
import sys
from dataclasses import replace

import pytest

from slabwright.findings import SlabwrightError
from slabwright.shop import conflicts
from slabwright.shop.calendar import WorkingCalendar
from slabwright.shop.conflicts import Conflict, conflict, span
from slabwright.shop.job_schedule import longest_waits
from slabwright.shop.ready_dates import ready_dates
from slabwright.shop.scheduling import CannotBeDoneError, replan, schedule
from slabwright.shop.scheduling_dispatch import Clocks, Dispatch, sequence, settled
from slabwright.shop.scheduling_models import Link, Operation, Promise, Shop, Task
from slabwright.shop.scheduling_task import ready

HOUR = 60.0
NOW = datetime.datetime(2026, 3, 2, 8, 0)
SHOP = Shop(WorkingCalendar((((480, 720), (750, 1020)),) * 5 + ((), ())))
MAKER = ("maker",)


def at(day: int, hour: int, minute: int = 0) -> datetime.datetime:
    return datetime.datetime(2026, 3, day, hour, minute)


def task(*operations: Operation, promises: tuple[Promise, ...] = (), now: datetime.datetime = NOW) -> Task:
    return Task(operations, promises, SHOP, now)


def work(name: str, minutes: float, *after: str | Link, job: str = "desk", **more: object) -> Operation:
    links = tuple(link if isinstance(link, Link) else Link(link) for link in after)
    return Operation(name, job, str(more.pop("kind", "work")), MAKER, minutes, after=links, **more)  # type: ignore[arg-type]


def gate(name: str, minutes: float, *after: str, **more: object) -> Operation:
    links = tuple(Link(link) for link in after)
    return Operation(name, "desk", "gate", (), 0, minutes, links, gate="delivery", **more)  # type: ignore[arg-type]


def quick(made: Task, **more: object) -> dict[str, tuple[datetime.datetime, datetime.datetime]]:
    found = schedule(made, workers=1, **more)  # type: ignore[arg-type]
    assert found.proven
    return {planned.name: (planned.start_at, planned.finish_at) for planned in found.operations}


def test_waiting_runs_through_the_night_and_work_goes_on_next_day() -> None:
    found = quick(task(work("glue", 60, unattended=20 * HOUR), work("plane", 600, "glue")))
    assert found["glue"] == (at(2, 8), at(3, 5))
    # Ten hours from 08:00: half past three is 450 min on, so that 150 min are left for the next day less the break.
    assert found["plane"] == (at(3, 8), at(4, 9, 30))


def test_a_window_holds_across_the_night_by_starting_later() -> None:
    """Coats at least 12 h and at most 20 h apart: of a coat until noon the next day's begins too late, or just so."""
    coat = work("coat", 30, splittable=False)
    again = work("again", 30, Link("coat", 12 * HOUR, 15 * HOUR), splittable=False)
    found = quick(task(coat, again))
    assert at(3, 8) - datetime.timedelta(hours=15) <= found["coat"][1] <= at(2, 17)
    assert found["again"][0] == at(3, 8)


def test_deliveries_gate_and_waits_follow_waits() -> None:
    found = quick(task(gate("order", 3 * 24 * HOUR), gate("clear", 10 * HOUR, "order"), work("cut", 30, "clear")))
    assert found["order"] == (at(2, 8), at(5, 8))
    assert found["clear"] == (at(5, 8), at(5, 18))
    assert found["cut"][0] == at(6, 8)


def test_no_dust_while_a_coat_is_open() -> None:
    coat = work("oil", 30, coat_open=5 * HOUR, pinned=at(2, 9))
    found = quick(task(coat, work("sand", 60, dusty=True), work("draw", 60)))
    assert found["sand"][0] in (at(2, 8), at(2, 14, 30))
    longer = quick(task(coat, work("sand", 90, dusty=True), work("draw", 60)))
    assert longer["sand"] == (at(2, 14, 30), at(2, 16))


def test_hot_work_is_never_last_in_the_day() -> None:
    found = quick(task(work("weld", 120, hot=True, not_before=at(2, 14, 1))))
    assert found["weld"][0] == at(3, 8)
    assert quick(task(work("weld", 120, hot=True, not_before=at(2, 14))))["weld"][1] == at(2, 16)


def test_a_held_place_stays_taken_while_it_waits() -> None:
    first = work("clamp", 30, unattended=6 * HOUR, holds=("bench",))
    second = replace(work("assemble", 30), needs=("helper", "bench"))
    assert quick(task(first, second, work("later", 5, "assemble")))["clamp"][0] >= at(2, 8, 30)
    promised = (Promise("desk", at(2, 8, 30)),)
    other = replace(second, job="table")
    found = quick(task(first, other, promises=promised))
    assert found["assemble"][0] == at(2, 14, 30)


def test_promises_come_before_finish_times_and_those_before_change_overs() -> None:
    long, short = work("long", 400, job="a"), work("short", 60, job="b")
    assert quick(task(long, short))["short"][0] == at(2, 8)
    assert quick(task(long, short, promises=(Promise("a", at(2, 15, 30)),)))["long"][0] == at(2, 8)
    bed = ("maker", "machine bed")
    parts = [replace(work(f"{kind}{n}", 30, kind=kind), needs=bed) for n in range(3) for kind in ("face", "edge")]
    last = work("pack", 5, *[part.name for part in parts])
    assert schedule(task(*parts, last), workers=1).change_overs == 1


def test_the_same_seed_gives_the_same_schedule() -> None:
    operations = [work(f"{n}", 30 + 7 * n, *([f"{n - 2}"] if n > 1 else []), job="ab"[n % 2]) for n in range(12)]
    made = task(*operations, promises=(Promise("a", at(2, 12)),))
    one, other = (schedule(made, workers=1, seed=4) for _ in range(2))
    assert one.operations == other.operations
    assert one.aims == other.aims


def test_two_of_a_place_are_taken_by_two_at_once() -> None:
    pair = [replace(work(n, 60), needs=("helper",)) for n in ("a", "b", "c")]
    shop = replace(SHOP, many={"helper": 2})
    found = schedule(Task(tuple(pair), (), shop, NOW), workers=1)
    assert sorted(p.start_at for p in found.operations) == [at(2, 8), at(2, 8), at(2, 9)]


@pytest.mark.parametrize(
    ("operations", "words"),
    [
        ((work("a", 5, "c"), work("b", 5, "a"), work("c", 5, "b")), "in a ring: .* after .*; take one link out"),
        ((work("a", 5, "a"),), "in a ring: a after a"),
        ((work("a", 5, "b"),), 'comes after "b", which is not there'),
        ((work("a", 5), work("a", 5)), "two of this name"),
        ((work("a", -5),), "attended is -5; it must be at least 0"),
        ((work("a", 5), work("b", 5, Link("a", 60, 30))), "60 min after a at the earliest and 30 min at the latest"),
        ((work("a", 5), work("m", 90, "a"), work("b", 5, "m", Link("a", 0, 60))), "within 60 min of a, but what lies"),
        ((work("a", 300, splittable=False),), r"its 300 min do not fit .*\(at most 270 min\); split it"),
        ((work("a", 250, hot=True),), r"at most 240 min, with 60 min kept at the day's end"),
        ((work("a", 30, pinned=at(7, 10)),), "pinned to 2026-03-07 10:00, where it does not fit"),
        ((work("a", 30, pinned=at(1, 10)),), "a time that is past"),
        ((work("a", 0),), "needs maker but has no attended time"),
        ((work("a", 30, done=(at(2, 7), at(2, 6))),), "done before it was started"),
        ((work("a", 30, started=at(2, 9)),), "started later than now"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_line(operations: tuple[Operation, ...], words: str) -> None:
    with pytest.raises(SlabwrightError, match=words) as error:
        schedule(task(*operations))
    assert "\n" not in str(error.value)


def test_promises_of_jobs_that_are_not_there() -> None:
    with pytest.raises(SlabwrightError, match="there is no job chair; promise one of desk"):
        schedule(task(work("a", 5), promises=(Promise("chair", at(3, 8)),)))


def test_a_conflict_names_promise_and_window_and_the_least_change_of_each() -> None:
    """A coat that waits 4 h and may be followed up to 4 h after that: both on one day, or the window shuts in the night."""
    first = work("coat", 60, unattended=4 * HOUR, splittable=False)
    second = work("again", 60, Link("coat", 0.0, 4 * HOUR), splittable=False)
    afternoon = replace(first, not_before=at(2, 14))
    made = task(afternoon, second, promises=(Promise("desk", at(3, 8, 30)),))
    found = conflict(made, workers=1)
    assert found is not None and found.proven
    assert found.together == ("desk promised by 2026-03-03 08:30",)
    # The coat from 08:00 to 09:00, the other from 13:00 to 14:00.
    assert [(change.what, change.by) for change in found.alone] == [("the promise of desk", 330.0)]
    pinned = task(replace(first, pinned=at(2, 14)), second)
    with pytest.raises(CannotBeDoneError, match="windows, pinned times and hours conflict"):
        schedule(pinned, workers=1)
    clash = conflict(pinned, workers=1)
    assert clash is not None and clash.proven
    assert set(clash.together) == {"coat pinned to 2026-03-02 14:00", "again at most 4 h after coat"}
    # From 19:00 the window shuts at 23:00, 9 h before the shop opens; from 11:00 to 12:00 the coat waits until 16:00.
    assert {(change.kind, change.by) for change in clash.alone} == {("window", 9 * HOUR), ("pin", 3 * HOUR)}
    assert [(change.kind, change.by) for change in clash.least] == [("pin", 3 * HOUR)]
    check = clash.finding()
    assert check.severity == "stop"
    assert "the window of again after coat wider by 9 h" in check.remedy


def test_a_conflict_of_many_operations_names_the_promises_that_the_load_rules_out() -> None:
    """Four jobs of 40 operations of 30 min: 20 h each; by Wednesday evening 25.5 h are worked, so that one of four can be had."""
    many = [work(f"{job}{n}", 30, *([f"{job}{n - 1}"] if n else []), job=job) for job in "abcd" for n in range(40)]
    promises = tuple(Promise(job, at(4 if job in "ab" else 20, 17)) for job in "abcd")
    found = conflict(task(*many, promises=promises), workers=1, seconds=2)
    assert found is not None
    assert found.together == ("a promised by 2026-03-04 17:00", "b promised by 2026-03-04 17:00")
    # 40 h are over on Friday at 14:30 (8.5 h a day: 34 h by Thursday evening, 4 h until noon, 2 h from 12:30): 45.5 h late.
    assert found.proven
    assert [change.by for change in found.least] == [45.5 * HOUR]


def test_nothing_conflicts_where_everything_can_be_had() -> None:
    assert conflict(task(work("a", 60), promises=(Promise("desk", at(2, 9)),))) is None


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(0, "0 min"), (45, "45 min"), (60, "1 h"), (1440, "1 day"), (4 * 1440 + 61, "4 days 1 h 1 min")],
)
def test_spans_in_words(minutes: float, words: str) -> None:
    assert span(minutes) == words


def delayed() -> tuple[Task, Task]:
    """Four jobs of a morning each; the first takes an hour more than planned."""
    operations = [
        work(f"{job}{n}", 60, *([f"{job}{n - 1}"] if n else []), job=job, not_before=at(2 + day, 8))
        for day, job in enumerate("abcd")
        for n in range(4)
    ]
    before = task(*operations)
    later = [replace(one, started=at(2, 8), left=120.0) if one.name == "a0" else one for one in operations]
    return before, task(*later, now=at(2, 9))


def test_planning_again_moves_only_what_it_must() -> None:
    before, after = delayed()
    first = schedule(before, workers=1)
    again = replan(after, first, workers=1)
    assert again.proven
    assert set(again.moved) == {"a1", "a2", "a3"}
    assert again.aims[1].value == 120.0 + 150.0 + 150.0
    assert again.by_name()["a0"].start_at == at(2, 8)
    assert again.by_name()["a0"].finish_at == at(2, 11)
    assert again.by_name()["a0"].state == "started"


def test_what_is_done_stays_and_still_dries() -> None:
    coat = work("coat", 60, unattended=5 * HOUR, done=(at(2, 6), at(2, 7, 30)))
    found = schedule(task(coat, work("rub", 30, "coat"), now=at(2, 9)), workers=1)
    assert found.by_name()["coat"].finish_at == at(2, 12, 30)
    assert found.by_name()["rub"].start_at == at(2, 12, 30)
    arrived = replace(gate("slab", 9000), done=(at(1, 8), at(2, 8)))
    assert schedule(task(arrived, work("read", 30, "slab")), workers=1).by_name()["read"].start_at == at(2, 8)
    overdue = replace(gate("slab", 60), started=at(1, 8))
    assert schedule(task(overdue, work("read", 30, "slab")), workers=1).by_name()["read"].start_at == at(2, 8)


def test_ready_dates_of_one_operation_are_its_quantiles() -> None:
    """A log-normal time of spread s about t has its 80 % point at t * exp(0.8416 s): the standard normal's 0.8 quantile."""
    made = task(work("a", 100, spread=0.3), promises=(Promise("desk", at(2, 9, 40)),))
    found = ready_dates(made, schedule(made, workers=1), draws=4000)
    even = (found.ready_even["desk"] - NOW).total_seconds() / 60
    four_in_five = (found.ready_4_in_5["desk"] - NOW).total_seconds() / 60
    assert even == pytest.approx(100, abs=2)
    assert four_in_five == pytest.approx(100 * 2.718281828 ** (0.8416 * 0.3), abs=3)
    assert found.kept["desk"] == pytest.approx(0.5, abs=0.03)


def test_ready_dates_without_spread_are_the_schedule() -> None:
    made, _ = delayed()
    planned = schedule(made, workers=1)
    found = ready_dates(made, planned, draws=5)
    assert found.ready_even == found.ready_4_in_5 == dict(planned.finish)


def test_ready_dates_pass_over_nights() -> None:
    made = task(work("a", 400, spread=0.2), work("b", 60, "a", splittable=False))
    found = ready_dates(made, schedule(made, workers=1), draws=200)
    assert found.ready_even["desk"] < at(2, 17) < found.ready_4_in_5["desk"]


def test_a_window_after_a_wait_that_lasts_longer_than_planned_is_kept_by_starting_later() -> None:
    """The wait is an hour even-chance; the window is counted from when it is over in that run."""
    glue = work("glue", 30, unattended=HOUR, wait_spread=0.5)
    trim = work("trim", 30, Link("glue", 0.0, 10.0))
    made = task(glue, trim, work("sweep", 300, not_before=at(2, 8)))
    found = ready_dates(made, schedule(made, workers=1), draws=60)
    assert not found.windows_missed


def test_what_only_waits_begins_when_what_it_comes_after_is_over() -> None:
    """A slab that rests has slack: the long way round through the base ends later."""
    rest = Operation("rest", "desk", "wait", (), 0, 2 * 24 * HOUR, (Link("stack"),))
    made = task(
        work("weld", 2000, kind="weld"),
        work("stack", 30),
        rest,
        work("flatten", 60, "rest"),
        work("pack", 30, "flatten", "weld"),
        *[work(f"{kind}{n}", 20, kind=kind, job="shelf") for n in range(3) for kind in ("face", "edge")],
    )
    found = quick(made)
    assert found["rest"][0] == found["stack"][1]
    ready_ = ready(made)
    names = [item.operation.name for item in ready_.items]
    clocks = Clocks(ready_)
    first = Dispatch(ready_).run(sequence(ready_, [float(n) for n in range(len(names))]))
    assert first is not None
    place = names.index("rest")
    late = replace(first, starts=(*first.starts[:place], first.starts[place] + 700, *first.starts[place + 1 :]))
    assert settled(ready_, clocks, late) == first


def test_a_wait_that_opens_a_window_begins_no_earlier_than_that_lets_it() -> None:
    rest = Operation("rest", "desk", "wait", (), 0, 10 * HOUR, (Link("stack"),))
    coat = work("coat", 30, Link("rest", 0.0, 2 * HOUR), not_before=at(3, 8), splittable=False)
    found = quick(task(work("stack", 30), rest, coat))
    assert found["coat"][0] == at(3, 8)
    assert found["rest"] == (at(2, 20), at(3, 6))


def test_a_pinned_wait_stays_where_it_is() -> None:
    rest = Operation("rest", "desk", "wait", (), 0, 10 * HOUR, (Link("stack"),), pinned=at(2, 12))
    assert quick(task(work("stack", 30), rest))["rest"][0] == at(2, 12)


def test_a_job_alone_is_proven_without_a_search() -> None:
    """Two branches that one maker brings together, coats of two kinds at one corner: bounds are met at once."""
    corner = ("maker", "spray corner")
    wood = [
        replace(work(f"wood{n}", 60, *([f"wood{n - 1}"] if n else []), kind="wipe", unattended=20 * HOUR), needs=corner)
        for n in range(3)
    ]
    steel = [
        replace(work(f"steel{n}", 60, *([f"steel{n - 1}"] if n else []), kind="spray"), needs=corner) for n in range(3)
    ]
    made = task(*wood, *steel, work("join", 30, "wood2", "steel2"))
    script = (
        "import pickle, sys\n"
        "from slabwright.shop.scheduling import schedule\n"
        "found = schedule(pickle.load(sys.stdin.buffer), workers=1)\n"
        "print(found.proven, found.change_overs, found.finish['desk'], 'ortools' in sys.modules)\n"
    )
    ran = subprocess.run([sys.executable, "-c", script], input=pickle.dumps(made), capture_output=True, check=True)
    # The last wiped coat begins on the day after the next, and dries until 05:00 of the one after that.
    assert ran.stdout.decode().split() == ["True", "1", "2026-03-05", "08:30:00", "False"]


def test_conflict_is_plain_data() -> None:
    clash = Conflict(("a",), (), (), True)
    assert clash.finding().message == "These cannot all be kept: a."


def test_a_pinned_time_that_luck_takes_is_missed_in_that_run_and_counted() -> None:
    """What comes before takes 100 min even-chance and has 100 min: the pin is kept in every second run."""
    made = task(work("a", 100, spread=0.3), work("drive", 60, "a", pinned=at(2, 9, 40)))
    found = ready_dates(made, schedule(made, workers=1))
    assert found.pins_kept["drive"] == pytest.approx(0.5, abs=0.02)
    assert found.ready_even["desk"] == at(2, 10, 40)
    # The standard normal's 0.8 quantile is 0.8416; nobody works from 12:00 to 12:30.
    late = 100 * 2.718281828 ** (0.8416 * 0.3) + 60
    assert (found.ready_4_in_5["desk"] - NOW).total_seconds() / 60 == pytest.approx(late, abs=3)
    loose = replace(made, operations=(made.operations[0], replace(made.operations[1], pinned=at(3, 9))))
    assert ready_dates(loose, schedule(loose, workers=1)).pins_kept == {"drive": 1.0}


def test_a_pinned_wait_that_is_missed_is_counted_too() -> None:
    wait = Operation("rest", "desk", "wait", (), 0, 600, (Link("a"),), pinned=at(2, 9, 40))
    made = task(work("a", 100, spread=0.3), wait)
    assert ready_dates(made, schedule(made, workers=1)).pins_kept["rest"] == pytest.approx(0.5, abs=0.02)


def test_less_work_is_not_later_by_luck() -> None:
    """The same operations have the same luck in another plan, under another job's name, and in parts."""
    chain = [work(f"{n}", 120, *([f"{n - 1}"] if n else []), spread=0.4) for n in range(6)]
    whole = task(*chain)
    first = ready_dates(whole, schedule(whole, workers=1))
    named = task(
        *[
            replace(
                one,
                name=f"Desk: {one.name}",
                job="Desk",
                after=tuple(Link(f"Desk: {link.operation}") for link in one.after),
            )
            for one in chain
        ]
    )
    again = ready_dates(named, schedule(named, workers=1))
    assert again.ready_even["Desk"] == first.ready_even["desk"]
    assert again.ready_4_in_5["Desk"] == first.ready_4_in_5["desk"]
    parts = task(
        work("0, part 1 of 2", 60, spread=0.4),
        work("0, part 2 of 2", 60, "0, part 1 of 2", spread=0.4),
        replace(chain[1], after=(Link("0, part 2 of 2"),)),
        *chain[2:],
    )
    split = ready_dates(parts, schedule(parts, workers=1))
    assert abs(split.ready_4_in_5["desk"] - first.ready_4_in_5["desk"]) <= datetime.timedelta(minutes=2)
    for gone in range(5):
        left = [one for one in chain if one.name != f"{gone}"]
        left = [
            replace(
                one, after=tuple(Link(f"{gone - 1}") if link.operation == f"{gone}" else link for link in one.after)
            )
            for one in left
        ]
        left = [replace(one, after=tuple(link for link in one.after if link.operation != "-1")) for one in left]
        less = task(*left)
        found = ready_dates(less, schedule(less, workers=1))
        assert found.ready_even["desk"] < first.ready_even["desk"]
        assert found.ready_4_in_5["desk"] < first.ready_4_in_5["desk"]


def test_a_pin_before_what_it_comes_after_and_windows_that_are_too_narrow_have_their_way_out_without_a_search(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    early = task(work("a", 120), work("b", 30, "a", pinned=at(2, 9)))
    clash = conflict(early, workers=1)
    assert clash is not None and clash.together == ("b pinned to 2026-03-02 09:00",)
    assert [(change.kind, change.by, change.to) for change in clash.least] == [("pin", 60.0, at(2, 10))]
    assert "moved by 1 h, to 2026-03-02 10:00" in clash.finding().remedy
    coat = work("coat", 60, splittable=False)
    again = work("again", 60, Link("coat", 10 * HOUR, 11 * HOUR), splittable=False)
    monkeypatch.setattr(conflicts, "_least", lambda *_: (None, False))
    narrow = conflict(task(coat, again), workers=1)
    # On at 17:00 at the latest, the next at 08:00: 15 h.
    assert narrow is not None and not narrow.proven
    assert [(change.kind, change.by) for change in narrow.least or narrow.alone] == [("window", 4 * HOUR)]


def test_what_the_finish_waits_for_longest_is_named() -> None:
    rest = Operation("rest", "desk", "wait", (), 0, 10 * 24 * HOUR, (Link("stack"),))
    made = task(work("stack", 30), rest, gate("steel", 4 * 24 * HOUR), work("join", 30, "rest", "steel"))
    assert longest_waits(made, schedule(made, workers=1)) == [("rest", 10 * 24 * HOUR)]


def test_hot_work_that_is_pinned_too_late_in_the_day_is_told_why() -> None:
    with pytest.raises(SlabwrightError, match="the last 60 min of a day are kept free after hot work"):
        ready(task(work("weld", 53, hot=True, pinned=at(2, 15, 50))))
    with pytest.raises(SlabwrightError, match="does not fit into working hours"):
        ready(task(work("weld", 53, hot=True, pinned=at(2, 16, 50))))
