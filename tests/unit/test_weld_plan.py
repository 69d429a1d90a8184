"""The weld plan: what stays after grinding, every joint found, throats against loads, order, squareness."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any, get_args

import numpy as np
import pytest

from slabwright.accounts import accounts, as_plain
from slabwright.base.drill_plan import drill_plan
from slabwright.base.kinds import Drawn
from slabwright.base.loads import Stood, cases, loads_of, settle, stand
from slabwright.base.square_checks import Allowed, SquareCheck, square_checks
from slabwright.base.stability import base_structure
from slabwright.base.stiffness import TopOn
from slabwright.base.weld_joints import meetings
from slabwright.base.weld_loads import JointLoad, joint_loads
from slabwright.base.weld_plan import weld_plan
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base, BaseKind

KINDS = get_args(BaseKind)
TOP = TopOn(2200.0, 900.0, (44.0, 45.0, 46.0), 8.0, 620.0, 11_600.0, 0.55)
MITRE = "left near upright to left bottom rail"
ALLOWED = Allowed(room_along=3.0, room_across=2.0, level=4.0, lean=1.5)


def drawn(kind: BaseKind = "U legs", **keys: Any) -> Drawn:
    stated = Base.model_validate({"tube": "60x60x3", "across": 640, **keys}, context={"units": "metric"})
    return base_structure(stated, kind, 740.0, TOP).drawn


def kinds_of(base: Drawn) -> dict[str, int]:
    found: dict[str, int] = {}
    for meeting in meetings(base):
        found[meeting.kind] = found.get(meeting.kind, 0) + 1
    return found


@pytest.mark.parametrize(
    ("kind", "corners", "wanted"),
    [
        ("U legs", "mitred", {"mitre": 4, "plate on an end": 4}),
        ("U legs", "butted", {"corner, butted": 4, "plate on an end": 4, "cap": 4}),
        ("closed loops", "mitred", {"mitre": 8, "plate on a rail": 2}),
        ("closed loops", "butted", {"corner, butted": 8, "plate on a rail": 2, "cap": 8}),
        ("inverted U", "mitred", {"mitre": 4, "plate on a rail": 2, "cap": 4}),
        ("four legs", "mitred", {"corner, butted": 8, "plate on a rail": 2, "cap": 4}),
        ("trestles", "mitred", {"corner, butted": 4, "end on a side": 6, "plate on a rail": 2, "cap": 8}),
    ],
)
def test_every_joint_is_found_once(kind: BaseKind, corners: str, wanted: dict[str, int]) -> None:
    base = drawn(kind, corners=corners)
    assert kinds_of(base) == wanted
    names = [meeting.name for meeting in meetings(base)]
    assert len(names) == len(set(names))


def test_members_of_a_free_frame_that_share_a_name_are_welded_to_each_other() -> None:
    nodes: list[dict[str, Any]] = []
    members = []
    for x, end in ((-600.0, "l"), (600.0, "r")):
        for y, side in ((-300.0, "n"), (300.0, "f")):
            nodes.append({"name": f"{end}{side}b", "at": (x, y, 20.0), "stands": True})
            nodes.append({"name": f"{end}{side}t", "at": (x, y, 690.0), "bolt": True, "slides": False})
            members.append({"first": f"{end}{side}b", "last": f"{end}{side}t", "name": "side"})
        members.append({"first": f"{end}nt", "last": f"{end}ft", "name": "side"})
    members.append({"first": "lnt", "last": "rnt", "name": "long near", "pinned": "both"})
    members.append({"first": "lft", "last": "rft", "name": "long far"})
    stated = Base.model_validate({"nodes": nodes, "members": members}, context={"units": "metric"})
    result = base_structure(stated, None, 740.0, TOP)
    assert kinds_of(result.drawn) == {"corner, butted": 6, "cap": 8}
    names = [joint.name for joint in weld_plan(result.drawn, "metric").joints]
    assert len(names) == len(set(names))
    vents = drill_plan(result.drawn, None, "metric").vents
    assert len(vents) == 7  # the bolted rail stays open
    with pytest.raises(SlabwrightError, match="has no leg frames to measure"):
        square_checks(result.drawn, ALLOWED, "metric")


def test_a_stretcher_adds_its_ends() -> None:
    assert kinds_of(drawn(stretcher="40x40x3")) == {"mitre": 4, "plate on an end": 4, "end on a side": 4}


def test_a_mitre_ground_flush_is_a_groove_and_keeps_its_inside_fillet() -> None:
    plan = weld_plan(drawn(), "metric")
    joint = next(joint for joint in plan.joints if joint.name == MITRE)
    ground = [seam for seam in joint.seams if seam.ground]
    assert [seam.type for seam in ground] == ["square groove"] * 3
    assert all(seam.leg is None and seam.throat == 3.0 for seam in ground)
    assert sorted(seam.length for seam in ground) == pytest.approx([60.0, 60.0 * math.sqrt(2), 60.0 * math.sqrt(2)])
    (inside,) = [seam for seam in joint.seams if not seam.ground]
    assert (inside.type, inside.leg) == ("fillet", 3.0)
    assert inside.throat == pytest.approx(3.0 / math.sqrt(2))
    assert not any(seam.ground and seam.leg is not None for joint in plan.joints for seam in joint.seams)


def test_a_thick_wall_is_bevelled() -> None:
    joint = next(j for j in weld_plan(drawn(tube="60x60x5"), "metric").joints if j.name == MITRE)
    outside = joint.seams[0]
    assert (outside.type, outside.bevel, outside.throat) == ("bevelled groove", True, 5.0)
    assert joint.prepare.startswith("bevel the edges 30 deg down to 1.5 mm")


def test_filler_of_a_mitre_by_hand() -> None:
    joint = next(j for j in weld_plan(drawn(), "metric").joints if j.name == MITRE)
    groove = 1.25 * 3.0 + 2.0 / 3.0 * (1.25 + 4.0)
    by_hand = (groove * (60 + 2 * 60 * math.sqrt(2)) + 4.5 * 1.1 * 60) * 7.85e-6
    assert sum(seam.filler for seam in joint.seams) == pytest.approx(by_hand)


def test_no_leg_is_more_than_the_thinner_part() -> None:
    plan = weld_plan(drawn(tube="40x40x2"), "metric")
    legs = [seam.leg for joint in plan.joints for seam in joint.seams if seam.leg is not None]
    assert legs
    assert max(legs) == 2.0


def test_a_plate_flush_with_the_tube_takes_a_groove_there() -> None:
    joint = next(j for j in weld_plan(drawn(), "metric").joints if j.kind == "plate on an end")
    assert {seam.place: seam.leg is None for seam in joint.seams} == {
        "outer end": True,
        "inner end": False,
        "left side": False,
        "right side": False,
    }
    wide = drawn(plate={"length": 700})
    joint = next(j for j in weld_plan(wide, "metric").joints if j.kind == "plate on an end")
    assert all(seam.type == "fillet" for seam in joint.seams)


def test_a_plate_short_of_the_tube_is_a_stop() -> None:
    found = weld_plan(drawn(plate={"length": 620}), "metric").findings
    assert {finding.code for finding in found} == {"base/plate-misses-tube"}
    assert not weld_plan(drawn(), "metric").findings


def test_throat_against_the_load_by_hand() -> None:
    load = JointLoad(pull=3000.0, shear=1000.0, over_inside=900_000.0)
    joint = next(j for j in weld_plan(drawn(), "metric", {MITRE: load}).joints if j.name == MITRE)
    modulus = 60.0**2 / 3 + 60.0 * 60.0
    along = 3000.0 / 240.0 + 900_000.0 / modulus
    assert joint.stress == pytest.approx(1.5 * math.hypot(along, 1000.0 / 240.0) / joint.throat)
    assert joint.used is not None
    assert joint.used < 1.0


def laid(kind: BaseKind) -> tuple[Any, Stood]:
    stated = Base.model_validate({"tube": "60x60x3", "across": 640}, context={"units": "metric"})
    structure = base_structure(stated, kind, 740.0, TOP).structure
    case = next(case for case in cases(structure, loads_of(stated.loads, TOP.area)) if case.name == "laid")
    stood = settle(stand(structure, slides=True), [case])[0]
    assert stood is not None
    return structure, stood


def test_the_welds_under_the_plates_bear_the_top() -> None:
    """Statics: four welds bear the top, what is laid on it, and the plates."""
    structure, stood = laid("U legs")
    loads = joint_loads(structure, [stood])
    borne = sum(abs(load.pull) for name, load in loads.items() if " plate on " in name)
    mass = TOP.mass + 50.0 * TOP.area * 1e-6 + sum(plate.mass for plate in structure.drawn.plates)
    assert borne == pytest.approx(mass * 9.80665, rel=0.01)
    plan = weld_plan(structure.drawn, "metric", loads)
    assert all(joint.used is not None and 0.0 < joint.used < 1.0 for joint in plan.joints)


def test_the_worst_load_of_each_joint_is_taken() -> None:
    structure, stood = laid("closed loops")
    twice = replace(stood, motions=2.0 * stood.motions)
    one_way, other = joint_loads(structure, [stood, twice]), joint_loads(structure, [twice, stood])
    assert one_way == other
    assert one_way[MITRE].shear > 0.0
    assert one_way[MITRE] == joint_loads(structure, [twice])[MITRE]


def test_a_load_makes_the_fillet_larger_up_to_the_wall_and_then_stops() -> None:
    def loaded(moment: float) -> tuple[float, float, set[str]]:
        plan = weld_plan(drawn(), "metric", {MITRE: JointLoad(over_inside=moment)})
        joint = next(joint for joint in plan.joints if joint.name == MITRE)
        assert joint.used is not None
        return joint.throat, joint.used, {finding.code for finding in plan.findings}

    light, more, heavy = loaded(1e5), loaded(1.6e6), loaded(5e6)
    assert light[0] == pytest.approx(3.0 / math.sqrt(2))
    assert light[0] < more[0] <= 3.0 + 1e-9
    assert more[1] <= 1.0
    assert more[2] == set()
    assert heavy[0] == pytest.approx(3.0)
    assert heavy[1] > 1.0
    assert heavy[2] == {"base/weld-too-weak"}


def test_stick_without_low_hydrogen_goes_by_the_thicker_part() -> None:
    plate = {"thickness": 10, "length": 700}

    def leg(process: str) -> float | None:
        plan = weld_plan(drawn(tube="60x60x5", plate=plate), "metric", process=process)
        return next(joint for joint in plan.joints if joint.kind == "plate on an end").seams[0].leg

    assert leg("gas-shielded solid wire") == 3.0
    assert leg("stick, other") == 5.0


def test_sums_and_time() -> None:
    plan = weld_plan(drawn("closed loops"), "metric")
    seams = [seam for joint in plan.joints for seam in joint.seams]
    assert plan.weld_metal == pytest.approx(sum(seam.filler for seam in seams))
    assert plan.filler == pytest.approx(plan.weld_metal / 0.93)
    assert plan.welding_time == pytest.approx(plan.weld_metal / 1.5 * 60 / 0.25)
    assert plan.grinding_length == pytest.approx(sum(seam.length for seam in seams if seam.ground))
    stitched = sum(seam.length for seam in seams if seam.stitches > 1)
    assert plan.filling_length == pytest.approx(plan.grinding_length + 4 * 640.0 - stitched)


@pytest.mark.parametrize("kind", KINDS)
def test_order_welds_every_joint_after_the_signed_mock_up(kind: BaseKind) -> None:
    plan = weld_plan(drawn(kind), "metric")
    titles = [step.title for step in plan.order]
    assert [step.number for step in plan.order] == list(range(1, len(titles) + 1))
    wanted = [
        "Tack one side",
        "True it up",
        "Tack the plates",
        "Check",
        "Tack the opposite sides",
        "Mock-up with the top",
    ]
    assert [title for title in titles if title in wanted] == wanted
    assert titles.index("Mock-up with the top") < titles.index("Weld out") < titles.index("Let it cool clamped")
    done = {name for step in plan.order if step.title in ("Weld out", "Close the ends") for name in step.joints}
    assert done == {joint.name for joint in plan.joints}
    tacked = [name for step in plan.order if step.title in ("Tack one side", "Join the frames") for name in step.joints]
    assert len(tacked) == len(set(tacked))
    assert ("Join the frames" in titles) == (kind in ("four legs", "trestles"))
    weld_out = next(step for step in plan.order if step.title == "Weld out")
    assert ("back to back" in weld_out.do) == (kind not in ("four legs", "trestles"))


def test_each_weld_is_far_from_the_one_before() -> None:
    base = drawn("closed loops")
    places = {meeting.name: base.nodes[meeting.node] for meeting in meetings(base)}
    first = weld_plan(base, "metric").order[0].joints
    assert len(first) == 8
    side = min(math.dist(places[a], places[b]) for a in first for b in first if a != b)
    assert all(math.dist(places[a], places[b]) > 1.2 * side for a, b in pairwise(first))


def test_unknown_joint_and_process() -> None:
    with pytest.raises(SlabwrightError, match="no joint is called 'corner'"):
        weld_plan(drawn(), "metric", {"corner": JointLoad()})
    with pytest.raises(SlabwrightError, match="known are gas-shielded solid wire"):
        weld_plan(drawn(), "metric", process="glue")


def one(checks: tuple[SquareCheck, ...], what: str, check: str) -> SquareCheck:
    return next(found for found in checks if found.what == what and found.check == check)


def corners(shape: list[tuple[float, float, float]]) -> tuple[float, float, float]:
    """Differences of diagonals and of opposite sides, and how far the fourth corner is off the other three's plane."""
    a, b, c, d = (np.array(point) for point in shape)
    normal = np.cross(b - a, d - a)
    return (
        abs(float(np.linalg.norm(c - a) - np.linalg.norm(d - b))),
        max(
            abs(float(np.linalg.norm(b - a) - np.linalg.norm(c - d))),
            abs(float(np.linalg.norm(d - a) - np.linalg.norm(c - b))),
        ),
        abs(float((c - a) @ normal / np.linalg.norm(normal))),
    )


def test_each_check_alone_misses_a_fault_that_another_finds() -> None:
    leaning = corners([(0, 0, 0), (640, 0, 0), (646, 675, 0), (6, 675, 0)])
    tapering = corners([(0, 0, 0), (640, 0, 0), (637, 675, 0), (3, 675, 0)])
    twisted = corners([(0, 0, 0), (640, 0, 0), (640, 675, 6), (0, 675, 0)])
    assert leaning[0] > 5.0
    assert leaning[1:] == pytest.approx((0.0, 0.0), abs=1e-9)
    assert tapering[1] > 5.0
    assert tapering[0] == pytest.approx(0.0, abs=1e-9)
    assert twisted[2] == pytest.approx(6.0)
    assert max(twisted[:2]) < 0.1


def test_limits_are_what_plumb_pockets_and_feet_allow() -> None:
    base = drawn()
    checks = square_checks(base, ALLOWED, "metric").checks
    diagonals = one(checks, "left leg frame", "diagonals")
    width, height = 640.0, base.underside - base.plates[0].thickness - base.foot_length
    assert diagonals.nominal == pytest.approx(math.hypot(width, height))
    lent = corners([(0, 0, 0), (width, 0, 0), (width + 1.5, height, 0), (1.5, height, 0)])
    assert diagonals.may_differ == pytest.approx(lent[0])
    sides = [c.may_differ for c in checks if c.what == "left leg frame" and c.check == "opposite sides"]
    assert sides == [3.0, 4.0]
    rock = one(checks, "left leg frame", "rocking")
    assert (rock.may_differ, rock.limited_by) == (4.0, "feet or floor")
    tight = square_checks(base, Allowed(0.5, 0.4, 8.0), "metric").checks
    assert one(tight, "left leg frame", "rocking").may_differ == pytest.approx(0.5 / 320.0 * 640.0)
    assert one(tight, "left leg frame", "diagonals").limited_by == "room of the pocket across"


def test_joined_frames_are_measured_in_plan_and_on_their_feet() -> None:
    base = drawn("four legs")
    checks = square_checks(base, ALLOWED, "metric", joined=True).checks
    plan = one(checks, "both frames in plan", "diagonals")
    left, right = base.plates
    assert plan.nominal == pytest.approx(math.hypot(right.x - left.x + left.width, left.length))
    assert one(checks, "both frames in plan", "opposite sides").may_differ == pytest.approx(12.0)
    assert one(checks, "the base on its feet", "rocking").may_differ == 4.0
    apart = square_checks(base, ALLOWED, "metric").checks
    assert {check.what for check in checks} - {check.what for check in apart} == {
        "both frames in plan",
        "the base on its feet",
    }


def test_too_fine_for_a_tape_and_nothing_allowed() -> None:
    found = square_checks(drawn(), Allowed(3.0, 0.2, 4.0), "metric").findings
    assert {finding.code for finding in found} == {"base/square-too-fine"}
    with pytest.raises(SlabwrightError, match="room_across must be more than 0"):
        square_checks(drawn(), Allowed(3.0, 0.0, 4.0), "metric")


def test_every_figure_has_its_meaning() -> None:
    plan = weld_plan(drawn(), "metric")
    assert as_plain(plan)["joints"]
    assert all(
        account.description.meaning for account in accounts(plan, "base.welds") if ".findings" not in account.path
    )
