"""The top's page: what is tried is what comes when it is saved, free places are free, and nothing of a try is kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.unit import web_slab
from tests.unit.web_bench import Bench, bench

from slabwright.quantities import parse_length
from slabwright.web.planning import Planned
from slabwright.web.typed import typed


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    with bench(tmp_path_factory.mktemp("top"), jobs=0) as made:
        made.book.add(web_slab.files(), "test", "begun")
        yield made


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Bench]:
    """Pages whose job is changed."""
    with bench(tmp_path, jobs=0) as made:
        made.book.add(web_slab.files(), "test", "begun")
        yield made


def attempt(pages: Bench, **sent: Any) -> dict[str, Any]:
    answer = pages.post("/api/jobs/1/top/try", json={"revision": 1, **sent})
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def planned(pages: Bench) -> Planned:
    found: Planned = pages.app.state.desk.store.now(1).planned
    return found


def test_the_page_and_its_twin_show_the_same_top(pages: Bench) -> None:
    twin = pages.device.get("/api/jobs/1/top").json()
    assert [one["name"] for one in twin["features"]][:4] == ["left plate", "right plate", "lamp", "cord"]
    assert twin["side"] == "underside"
    shown = pages.device.get("/jobs/1/top?feature=2").text
    assert twin["editor"]["name"] == "left plate"
    assert 'data-name="lamp"' in shown and "left outer near" in shown
    assert "<script>" not in shown and "style=" not in shown


def test_a_try_keeps_nothing(pages: Bench) -> None:
    before = pages.text()
    attempt(pages, values={"top.features[2].along": 100}, chosen="lamp")
    assert pages.text() == before
    assert pages.book.revision(1).number == 1


def test_what_is_tried_is_what_comes_when_it_is_saved(own: Bench) -> None:
    values = {"top.features[2].along": -360, "top.features[2].across": 60, "top.features[0].depth": 10}
    tried = attempt(own, values=values, chosen="lamp")
    assert own.edit(values, 1).status_code == 200
    result = planned(own).result
    assert result is not None and result.top is not None
    told = {(c.rule, c.first, c.second or ""): c.distance for c in result.top.clearances}
    shown = {(c["rule"], c["first"], c["second"]): c["distance"] for c in tried["clearances"]}
    assert any(not c["holds"] for c in tried["clearances"])
    for one, distance in told.items():
        if one in shown:
            assert shown[one] == pytest.approx(distance, abs=1e-9)
    broken = {one for one, c in zip(shown, tried["clearances"], strict=True) if not c["holds"]}
    assert broken <= set(told)
    feature = result.top.layout.named("lamp")
    assert tried["place"] == pytest.approx([feature.along, feature.across])


def test_a_clash_is_told_with_what_mends_it_and_the_nearest_free_place_is_free(own: Bench) -> None:
    values = {"top.features[2].along": -420, "top.features[2].across": 100}
    clashing = attempt(own, values=values, chosen="lamp", remedies=True)
    assert clashing["clashes"] >= 1
    assert any("lamp" in one["message"] and one["remedy"] for one in clashing["problems"])
    assert 'class="clash"' in clashing["picture"]
    freed = attempt(own, values=values, chosen="lamp", nearest=True)
    assert freed["filled"] and freed["clashes"] == 0
    assert "lamp" in freed["said"]
    # No nearer place along the same way is free: one millimetre less clashes.
    (key, value), *more = freed["filled"].items()
    assert not more
    step = 1 if value > values[key] else -1
    assert attempt(own, values={**values, key: value - step}, chosen="lamp")["clashes"] >= 1
    own.edit(freed["values"], 1)
    assert planned(own).result is not None
    view = own.device.get("/api/jobs/1/top").json()
    assert all(one["clashes"] == 0 for one in view["features"])


def test_a_clash_that_was_saved_is_mended_by_its_button(own: Bench) -> None:
    assert own.edit({"top.features[2].along": -420, "top.features[2].across": 100}, 1).status_code == 200
    view = own.device.get("/api/jobs/1/top").json()
    clash = next(one for one in view["problems"] if one["code"] == "top/too-close" and "lamp" in one["message"])
    assert clash["apply"] and clash["apply"]["words"] == "Move lamp there"
    assert "Move lamp there" in own.device.get("/jobs/1/top").text
    assert own.edit(clash["apply"]["values"], 2).status_code == 200
    after = own.device.get("/api/jobs/1/top").json()
    assert not [one for one in after["problems"] if one["severity"] == "stop"]


def test_what_is_free_stays(pages: Bench) -> None:
    came = attempt(pages, chosen="lamp", nearest=True)
    assert came["filled"] == {} and came["said"] == "It is free where it is."


@pytest.mark.parametrize(
    ("chosen", "way", "key", "value"),
    [
        ("left plate", {"along": 25}, "top.features[0].along", 325),
        ("right plate", {"along": 25}, "top.features[1].along", 275),  # dimensioned from the right end
        ("lamp", {"across": -5}, "top.features[2].across", -5),
    ],
)
def test_a_nudge_changes_the_typed_distance(
    pages: Bench, chosen: str, way: dict[str, float], key: str, value: float
) -> None:
    assert attempt(pages, chosen=chosen, shift=way)["filled"] == {key: value}


def test_a_channel_is_moved_as_a_whole(pages: Bench) -> None:
    came = attempt(pages, chosen="cord", shift={"along": 10, "across": -5})
    assert came["filled"] == {"top.features[3].path": [[760, -5], [960, -5]]}


@pytest.mark.parametrize("along_from", ["right end", "middle", "right plate"])
@pytest.mark.parametrize("across_from", ["near edge", "far edge", "left plate"])
def test_measured_from_elsewhere_it_lies_where_it_lay(pages: Bench, along_from: str, across_from: str) -> None:
    values: dict[str, Any] = {"top.features[2].along": 37, "top.features[2].across": 21}
    here = attempt(pages, values=values, chosen="lamp")["place"]
    values |= {"top.features[2].along_from": along_from, "top.features[2].across_from": across_from}
    there = attempt(pages, values=values, chosen="lamp", hold=here)
    assert there["place"] == pytest.approx(here, abs=0.001)


@pytest.mark.parametrize(
    "kind", ["pocket", "insert", "through hole", "outlet", "channel", "key", "bar", "chamfer", "round"]
)
def test_a_new_feature_is_one_edit(pages: Bench, kind: str) -> None:
    made = pages.post("/api/jobs/1/top/new", json={"revision": 1, "kind": kind})
    assert made.status_code == 200, made.text
    came = attempt(pages, values=made.json()["values"], chosen=made.json()["name"])
    own_clashes = [
        c for c in came["clearances"] if not c["holds"] and c["rule"] in ("between two features", "edge of the top")
    ]
    assert kind in ("chamfer", "round") or not own_clashes


def test_one_more_like_it_is_saved_and_removed_again(own: Bench) -> None:
    made = own.post("/api/jobs/1/top/new", json={"revision": 1, "like": "left outer middle"}).json()
    table = made["values"][f"top.features[{made['number']}]"]
    assert "fixed" not in table and table["name"] != "left outer middle" and table["drill"] == 12
    assert own.edit(made["values"], 1).status_code == 200
    assert own.edit({f"top.features[{made['number']}]": None}, 2).status_code == 200
    assert own.text() == web_slab.files()["job.toml"].decode()


def test_corners_edges_and_kept_places_are_edits(own: Bench) -> None:
    values: dict[str, Any] = {
        "top.features[3].path[1][1]": 40,
        "top.features[4].edges": ["left end", "right end"],
        "top.keep_clear[0]": {
            "name": "knees",
            "what": "knees",
            "outline": [[600, -60], [900, -60], [900, 60], [600, 60]],
        },
    }
    tried = attempt(own, values=values, chosen="lamp")
    assert [c["second"] for c in tried["clearances"] if c["rule"] == "kept clear"] == ["knees"]
    assert own.edit(values, 1).status_code == 200
    view = own.device.get("/api/jobs/1/top?feature=4").json()
    assert [one["words"] for one in view["editor"]["edges"] if one["on"]] == ["left end", "right end"]
    assert view["kept"][0]["corners"][0] == ["600", "-60"]
    assert {one["name"]: one["state"] for one in view["head"]["steps"]}["top"] == "decide"
    assert own.edit({"top.keep_clear[0]": None}, 2).status_code == 200


@pytest.mark.parametrize(
    ("sent", "status", "told"),
    [
        ({"values": {"piece.length": 900}}, 422, "piece.length"),
        ({"values": {"top.features[0].along": "far"}}, 422, "far"),
        ({"values": {"top.features[99].along": 4}}, 422, "top.features[99]"),
        ({"values": {"top.features[0].along_from": "moon"}}, 422, "moon"),
        ({"chosen": "nobody", "nearest": True}, 404, "nobody"),
        ({"revision": 7}, 404, "revision 7"),
        ({"shift": {"along": 1e9}, "chosen": "lamp"}, 422, "along"),
    ],
)
def test_what_cannot_be_tried_is_told_in_one_line(pages: Bench, sent: dict[str, Any], status: int, told: str) -> None:
    answer = pages.post("/api/jobs/1/top/try", json={"revision": 1, **sent})
    assert answer.status_code == status
    assert told in answer.json()["error"] and "\n" not in answer.json()["error"]


def test_a_job_without_a_slab_waits(tmp_path: Path) -> None:
    with bench(tmp_path) as made:
        view = made.device.get("/api/jobs/1/top").json()
        assert view["waits"] and view["picture"] == ""
        assert "waits for" in made.device.get("/jobs/1/top").text
        assert made.post("/api/jobs/1/top/try", json={"revision": 1}).status_code == 422
        assert made.device.get("/jobs/1/top/feature/0").status_code == 404


@given(st.floats(-5000, 5000), st.sampled_from(["metric", "inch"]))
@settings(max_examples=200, deadline=None)
def test_typed_figures_read_back(mm: float, units: Any) -> None:
    back = parse_length(typed(mm, units), "mm" if units == "metric" else "in")
    assert back == pytest.approx(mm, abs=0.0005 if units == "metric" else 0.0003)


def test_inches_are_typed_as_fractions() -> None:
    assert typed(41.275, "inch") == '1 5/8"'
    assert typed(-3.175, "inch") == '-1/8"'
    assert typed(420.0, "metric") == 420


ODD = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**40), 2**40) | st.floats(-1e6, 1e6) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)
KEYS = st.sampled_from(
    [
        "top",
        "top.features",
        "top.features[0]",
        "top.features[0].along",
        "top.features[3].path",
        "top.features[3].path[0]",
        "top.features[3].path[9][0]",
        "top.features[17]",
        "top.features[-1].along",
        "top.keep_clear[0].outline",
        "top.clearances.between",
        "top.rings",
        "base.plate",
        "base.plate.width",
        "base.tube",
        "base.nodes",
        "piece.height",
        "piece.base",
        "top.paint",
        "top.plates_as_made",
        "",
        "top..x",
    ]
)


@given(
    st.dictionaries(KEYS, ODD, max_size=3), st.sampled_from(["", "lamp", "cord", "eased", "left plate"]), st.booleans()
)
@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_is_tried_is_answered_or_told(
    pages: Bench, values: dict[str, Any], chosen: str, nearest: bool
) -> None:
    for page, sent in (("top", {"chosen": chosen, "nearest": nearest, "remedies": True}), ("base", {})):
        answer = pages.post(f"/api/jobs/1/{page}/try", json={"revision": 1, "values": values, **sent})
        assert answer.status_code in (200, 404, 422), answer.text
        assert answer.status_code == 200 or answer.json()["error"]


def test_a_plate_as_made_is_entered_where_its_pocket_is_and_is_followed(own: Bench) -> None:
    plates = own.device.get("/api/jobs/1/top").json()["plates"]
    assert [plate["pocket"] for plate in plates] == ["left plate", "right plate"]
    plate = plates[0]
    hints = {one["key"]: one["hint"] for one in plate["fields"]}
    assert (plate["stated"], plate["number"], hints["length"], hints["width"]) == (False, 0, "120", "420")
    table = {"plate": "left plate", "way": "measured", "length": 122, "width": 421.5, "bow": 0.4}
    assert own.edit({"top.plates_as_made[0]": table}, 1).status_code == 200
    after = own.device.get("/api/jobs/1/top").json()
    first, second = after["plates"]
    assert first["stated"] and {one["key"]: one["value"] for one in first["fields"]} == {
        "thickness": "", "length": "122", "width": "421.5", "corner_radius": "", "bow": "0.4", "diagonals_differ": "",
        "error": "",
    }  # fmt: skip
    assert not second["stated"] and second["number"] == 1, "the next plate has the next number"
    figures = own.device.get("/api/jobs/1/plan").json()
    pockets = [one for one in figures["top"]["features"] if one["name"] == "left plate"]
    assert pockets, "the pocket follows"
    page = own.device.get("/jobs/1/top").text
    assert "Save left plate as made" in page and "As planned again" in page
    assert own.edit({"top.plates_as_made[0]": None}, 2).status_code == 200
    assert not own.device.get("/api/jobs/1/top").json()["plates"][0]["stated"]


def test_the_holes_of_a_plate_are_asked_for_by_its_inserts(own: Bench) -> None:
    view = own.device.get("/api/jobs/1/top").json()
    holes = view["plates"][0]["holes"]
    assert holes, "the plate has bolts"
    of = {one["key"]: one["hint"] for one in holes[0]["fields"]}
    along, across = float(of["along"]), float(of["across"])
    assert abs(along) < 60 and abs(across) < 210, "from the plate's middle, on the plate"
    table = {
        "plate": "left plate",
        "holes": [{"insert": holes[0]["insert"], "along": along + 1.5, "across": across - 1}],
    }
    assert own.edit({"top.plates_as_made[0]": table}, 1).status_code == 200
    plate = own.device.get("/api/jobs/1/top").json()["plates"][0]
    assert [one["value"] for one in plate["holes"][0]["fields"][:2]] == [f"{along + 1.5:g}", f"{across - 1:g}"]
    assert all(one["value"] == "" for hole in plate["holes"][1:] for one in hole["fields"])
    slip = own.edit({"top.plates_as_made[0]": {"plate": "left plate", "length": 200}}, 2)
    assert slip.status_code == 422 and "measure it again" in slip.json()["error"]
