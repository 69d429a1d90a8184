"""Locating: turn and shift from touches, errors at the features, go or no-go, odd touches, places to add, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from slabwright.accounts import accounts, as_plain
from slabwright.job.top_models import Datum
from slabwright.machine.dry_run import candidate_datums, dry_run
from slabwright.machine.located import DatumKind, FaceUp
from slabwright.machine.locating_findings import locating_findings
from slabwright.machine.registration import Candidate, FeaturePlace, RegistrationError, locate

Spot = tuple[str, DatumKind, float, float]
CORNERS: tuple[Spot, ...] = (
    ("near left", "point", 0.0, -300.0),
    ("near right", "point", 1600.0, -300.0),
    ("far right", "point", 1600.0, 300.0),
    ("far left", "point", 0.0, 300.0),
)
EDGES: tuple[Spot, ...] = (
    ("near edge, left", "edge along", 200.0, -300.0),
    ("near edge, right", "edge along", 1400.0, -300.0),
    ("left end", "edge across", 0.0, 100.0),
)
TURN, SHIFT = math.radians(1.2), (210.0, 480.0)


def onto(x: float, y: float, turn: float = TURN, face_up: FaceUp = "show") -> tuple[float, float]:
    y = -y if face_up == "underside" else y
    return (
        math.cos(turn) * x - math.sin(turn) * y + SHIFT[0],
        math.sin(turn) * x + math.cos(turn) * y + SHIFT[1],
    )


def touched(
    spots: tuple[Spot, ...],
    off: dict[str, tuple[float, float]] | None = None,
    *,
    turn: float = TURN,
    face_up: FaceUp = "show",
    error: float = 0.05,
) -> list[Datum]:
    """Datums touched off without error, but for those of `off`."""
    found = []
    for name, kind, x, y in spots:
        at = onto(x, y, turn, face_up)
        dx, dy = (off or {}).get(name, (0.0, 0.0))
        found.append(Datum(name=name, kind=kind, stated=(x, y), touched=(at[0] + dx, at[1] + dy), error=error))
    return found


@pytest.mark.parametrize("spots", [CORNERS, CORNERS[:3], EDGES, (*CORNERS[:2], *EDGES)])
@pytest.mark.parametrize("face_up", ["show", "underside"])
@pytest.mark.parametrize("turn", [TURN, math.radians(-88.0), math.radians(179.0)])
def test_exact_touches_give_the_exact_place(spots: tuple[Spot, ...], face_up: FaceUp, turn: float) -> None:
    located = locate(touched(spots, turn=turn, face_up=face_up), {"a": (700.0, 120.0, 1.0)}, face_up=face_up)
    assert math.radians(located.turn) == pytest.approx(turn, abs=1e-12)
    assert (located.shift_x, located.shift_y) == pytest.approx(SHIFT, abs=1e-9)
    assert (located.features[0].x, located.features[0].y) == pytest.approx(onto(700.0, 120.0, turn, face_up), abs=1e-9)
    assert located.to_machine(np.array((700.0, 120.0))) == pytest.approx(onto(700.0, 120.0, turn, face_up), abs=1e-9)
    assert located.to_piece(np.array([onto(700.0, 120.0, turn, face_up)]))[0] == pytest.approx((700.0, 120.0), abs=1e-9)


def test_edges_by_hand() -> None:
    # Two touches of an edge 1200 mm apart with s each: the turn's error is s sqrt(2) / 1200; along the piece at the touched end
    # the error is that of the one touch, turned about it.
    s = 0.06
    located = locate(touched(EDGES, error=s), {"end": (0.0, 100.0, 1.0), "between": (800.0, -300.0, 1.0)})
    assert math.radians(located.turn_error) == pytest.approx(s * math.sqrt(2.0) / 1200.0, rel=1e-9)
    end, between = located.features
    assert end.error_along == pytest.approx(s, rel=1e-9)
    assert between.error_across == pytest.approx(s / math.sqrt(2.0), rel=1e-9)
    assert between.error_along == pytest.approx(math.hypot(s, 400.0 * s * math.sqrt(2.0) / 1200.0), rel=1e-9)


def test_the_worst_corner_counts() -> None:
    middle = locate(touched(CORNERS), {"long": (800.0, 0.0, 1.0)}).features[0]
    corners = ((100.0, -50.0), (1500.0, -50.0), (1500.0, 50.0), (100.0, 50.0))
    whole = locate(touched(CORNERS), {"long": FeaturePlace(800.0, 0.0, 1.0, corners)}).features[0]
    assert whole.radius > middle.radius * 1.1
    assert whole.radius == pytest.approx(locate(touched(CORNERS), {}).radius_at(np.array(corners)).max())


def test_go_needs_the_room_for_both_errors() -> None:
    datums = touched(CORNERS)
    radius = locate(datums, {"a": (800.0, 0.0, 1.0)}).features[0].radius
    assert locate(datums, {"a": (800.0, 0.0, radius + 0.0501)}).go
    tight = locate(datums, {"a": (800.0, 0.0, radius + 0.0499)})
    assert not tight.go
    assert [finding.code for finding in locating_findings(tight, "metric")] == ["locating/no-go"]
    assert locate(datums, {"a": (800.0, 0.0, radius + 0.0001)}, machine_error=0.0).go


def test_features_that_fit_alone_may_miss_together() -> None:
    datums = touched(CORNERS)
    places = {f"{x} {y}": (x, y) for x in (0.0, 1600.0) for y in (-300.0, 300.0)}
    exact = locate(datums, {}, machine_error=0.0)
    features = {name: (*place, float(exact.radius_at(np.array([place]))[0]) * 1.0001) for name, place in places.items()}
    located = locate(datums, features, machine_error=0.0)
    assert all(feature.go for feature in located.features)
    assert 0.01 < located.chance_out < 0.04
    assert not located.go
    assert "one of them misses" in locating_findings(located, "metric")[0].message
    # Against simulation of the same errors.
    draw = np.random.default_rng(3)
    error = draw.normal(size=(200_000, 3)) @ np.linalg.cholesky(exact.covariance).T
    out = np.zeros(len(error), bool)
    for x, y, room in features.values():
        out |= np.hypot(error[:, 1] - y * error[:, 0], error[:, 2] + x * error[:, 0]) > room
    assert located.chance_out == pytest.approx(float(out.mean()), rel=0.05)


def test_an_odd_touch_is_named_and_stops() -> None:
    located = locate(touched(CORNERS, {"far right": (0.8, -0.5)}), {"a": (800.0, 0.0, 5.0)})
    assert [datum.name for datum in located.datums if datum.odd] == ["far right"]
    assert not located.go
    finding = locating_findings(located, "metric")[0]
    assert (finding.code, finding.severity) == ("locating/odd-touch", "stop")
    assert "'far right'" in finding.message
    assert "Without it the others agree" in finding.remedy
    assert locate([datum for datum in touched(CORNERS) if datum.name != "far right"], {"a": (800.0, 0.0, 5.0)}).go


def test_too_few_to_tell_which_is_odd() -> None:
    spots = (*EDGES, ("far edge", "edge along", 800.0, 300.0))
    located = locate(touched(spots, {"far edge": (0.0, 2.0)}), {"a": (800.0, 0.0, 5.0)})
    names = {datum.name for datum in located.datums if datum.odd}
    assert names == {"near edge, left", "near edge, right", "far edge"}
    assert "too few to tell" in locating_findings(located, "metric")[0].message


def test_errors_are_raised_where_touches_disagree_a_little() -> None:
    off = {
        "near left": (0.07, 0.07),
        "far right": (0.08, -0.06),
        "near right": (-0.09, 0.05),
        "far left": (-0.05, -0.08),
    }
    sound = locate(touched(CORNERS, off, error=0.1), {"a": (800.0, 0.0, 5.0)})
    raised = locate(touched(CORNERS, off, error=0.035), {"a": (800.0, 0.0, 5.0)})
    assert sound.scale == 1.0
    assert raised.scale > 1.5
    # Whatever was stated, the errors are then those that the touches show.
    again = locate(touched(CORNERS, off, error=0.034), {"a": (800.0, 0.0, 5.0)})
    assert raised.features[0].radius == pytest.approx(again.features[0].radius, rel=1e-6)
    assert "locating/errors-raised" in [finding.code for finding in locating_findings(raised, "metric")]


def test_the_place_to_add_is_the_one_that_helps_most() -> None:
    datums = touched(CORNERS[:3])
    features = {"a": (60.0, 260.0, 0.22), "b": (800.0, 0.0, 0.3)}
    candidates = candidate_datums(1600.0, 600.0, {"hole": (820.0, 10.0)}, live_edges=False, taken=datums)
    assert not {"near left corner"} & {candidate.name for candidate in candidates}
    located = locate(datums, features, candidates=candidates)
    assert located.add is not None

    def worst(candidate: Candidate) -> float:
        more = touched((*CORNERS[:3], (candidate.name, candidate.kind, candidate.x, candidate.y)))
        found = locate(more, features)
        return max(feature.most / feature.clearance for feature in found.features)

    shares = {candidate.name: worst(candidate) for candidate in candidates}
    assert located.add.name == min(shares, key=lambda name: shares[name]) == "left far corner"
    more = locate(touched(CORNERS), features)
    assert located.add.most == pytest.approx(max(feature.most for feature in more.features), rel=1e-9)
    assert located.add.go == more.go


def test_live_edges_are_not_touched() -> None:
    kinds = {candidate.kind for candidate in candidate_datums(1600.0, 600.0, {}, live_edges=True)}
    assert kinds == {"edge across"}


def test_nothing_checks_three_edges() -> None:
    found = locating_findings(locate(touched(EDGES), {"a": (800.0, 0.0, 2.0)}), "metric")
    assert [finding.code for finding in found] == ["locating/unchecked"]


def test_the_other_face_up_is_refused() -> None:
    datums = touched(CORNERS[:3], face_up="underside")
    with pytest.raises(RegistrationError, match="mirrored"):
        locate(datums, {}, face_up="show")
    assert locate(datums, {}, face_up="underside").turn == pytest.approx(1.2)


def test_edges_on_a_mirrored_axis_are_refused() -> None:
    datums = [
        datum.model_copy(update={"touched": (datum.touched[0], -datum.touched[1])})
        for datum in touched(EDGES, turn=0.0)
    ]
    with pytest.raises(RegistrationError, match="mirrored"):
        locate(datums, {})


@pytest.mark.parametrize(
    ("spots", "said"),
    [
        (CORNERS[:1], "1 touched place cannot tell"),
        (EDGES[1:], "2 touched places cannot tell"),
        (CORNERS[:2], "nearly in a line"),
        ((*CORNERS[:2], ("hole", "point", 700.0, -295.0)), "nearly in a line"),
        ((*EDGES[:2], ("far edge", "edge along", 800.0, 300.0)), "edge across"),
        (
            (EDGES[2], ("end, far", "edge across", 0.0, -100.0), ("right end", "edge across", 1600.0, 0.0)),
            "edge along",
        ),
        (
            (("a", "edge along", 200.0, -300.0), ("b", "edge along", 230.0, -300.0), ("c", "edge across", 0.0, 100.0)),
            None,
        ),
        (
            (("a", "edge along", 500.0, -300.0), ("b", "edge along", 500.0, 300.0), ("c", "edge across", 0.0, 100.0)),
            "do not fix the turn",
        ),
    ],
)
def test_touches_that_do_not_do(spots: tuple[Spot, ...], said: str | None) -> None:
    if said is None:
        # It can be worked out, but the turn is so unsure that nothing may be cut.
        assert not locate(touched(spots), {"a": (1000.0, 0.0, 1.0)}).go
        return
    with pytest.raises(RegistrationError, match=said):
        locate(touched(spots), {})


def test_edges_without_their_place_along_them_are_refused() -> None:
    datums = [
        datum.model_copy(update={"stated": (0.0, datum.stated[1]) if datum.kind == "edge along" else (0.0, 0.0)})
        for datum in touched(EDGES)
    ]
    with pytest.raises(RegistrationError, match="laid in two ways"):
        locate(datums, {})


def test_a_datum_stated_twice() -> None:
    datums = touched(CORNERS)
    with pytest.raises(RegistrationError, match="'near left' is stated twice"):
        locate([*datums, datums[0]], {})
    renamed = datums[0].model_copy(update={"name": "again"})
    with pytest.raises(RegistrationError, match="'again' is the same place as 'near left'"):
        locate([*datums, renamed], {})


def test_figures_that_are_no_numbers() -> None:
    datums = touched(CORNERS)
    bad = datums[0].model_copy(update={"touched": (math.nan, 0.0)})
    with pytest.raises(RegistrationError, match="near left"):
        locate([bad, *datums[1:]], {})
    with pytest.raises(RegistrationError, match="feature 'a'"):
        locate(datums, {"a": (0.0, math.inf, 1.0)})
    with pytest.raises(RegistrationError, match="error of -1"):
        locate([datums[0].model_copy(update={"error": -1.0}), *datums[1:]], {})


def test_dry_run_goes_to_every_place() -> None:
    datums = touched(CORNERS, face_up="underside")
    features: dict[str, FeaturePlace | tuple[float, float, float]] = {
        "a": (800.0, 100.0, 1.0),
        "b": FeaturePlace(300.0, -100.0, 1.0),
    }
    located = locate(datums, features, face_up="underside")
    run = dry_run(located, datums, features)
    assert [point.number for point in run] == [1, 2, 3, 4, 5, 6]
    assert {point.name for point in run[:4]} == {datum.name for datum in datums}
    assert {point.name for point in run[4:]} == {"a", "b"}
    for point in run:
        if point.name == "a":
            assert (point.x, point.y) == pytest.approx(onto(800.0, 100.0, TURN, "underside"))
            assert point.within > located.features[0].most
        elif point.name in {datum.name for datum in datums}:
            datum = next(one for one in datums if one.name == point.name)
            assert (point.x, point.y) == pytest.approx(datum.touched, abs=1e-9)


def test_every_figure_has_an_account() -> None:
    located = locate(
        touched(CORNERS), {"a": (800.0, 0.0, 1.0)}, candidates=candidate_datums(1600.0, 600.0, {}, live_edges=False)
    )
    assert "covariance" not in as_plain(located)
    assert all(account.description.meaning for account in accounts(located, "machine.locating"))


def test_an_odd_touch_is_off_by_what_it_slipped() -> None:
    # Of three places, a slip square to the line to its neighbour could as well be a turn of that line: two are named.
    few = locate(touched(CORNERS[:3], {"far right": (3.0, 0.0)}, turn=0.0), {})
    assert {datum.name for datum in few.datums if datum.odd} == {"near left", "far right"}
    more = locate(touched((*CORNERS, ("hole", "point", 700.0, 0.0)), {"far right": (3.0, -1.0)}, turn=0.0), {})
    odd = next(datum for datum in more.datums if datum.odd)
    assert (odd.off_along, odd.off_across) == pytest.approx((3.0, -1.0), rel=1e-2)
    assert not [one for one in locating_findings(more, "metric") if one.code == "locating/no-go"]


@pytest.mark.parametrize(("one", "other"), [(0, 1), (0, 2), (1, 2)])
def test_exchanged_places_are_named(one: int, other: int) -> None:
    datums = touched(CORNERS)
    moved = {one: datums[other].touched, other: datums[one].touched}
    wrong = [datum.model_copy(update={"touched": moved.get(i, datum.touched)}) for i, datum in enumerate(datums)]
    with pytest.raises(RegistrationError, match=f"'{datums[one].name}' and '{datums[other].name}' exchanged"):
        locate(wrong, {})


def test_units_mixed_up() -> None:
    datums = [
        datum.model_copy(update={"touched": (datum.touched[0] / 25.4, datum.touched[1] / 25.4)})
        for datum in touched(CORNERS)
    ]
    with pytest.raises(RegistrationError, match="same units"):
        locate(datums, {})
