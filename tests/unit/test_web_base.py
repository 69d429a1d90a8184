"""The base's page: what is tried, and what a mend promises, is what comes when it is taken."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.unit import web_slab
from tests.unit.web_bench import Bench, bench

from slabwright.base.basing import BasePlan
from slabwright.plan import Plan

PLATES_IN_THE_JOB = (
    web_slab.JOB.partition("[[top.features]]")[0] + "\n[base]\ntube = '60x60x3'\n[base.plate]\nwidth = 120\n"
)
INCHES = (
    (web_slab.JOB + web_slab.INSERTS)
    .replace('units = "metric"', 'units = "inch"')
    .replace("length = 1500", 'length = "1500 mm"')
    .replace("width = 600\n", 'width = "600 mm"\n', 1)
    .replace("height = 740", "height = 29")
    .partition("[top]")[0]
)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    with bench(tmp_path_factory.mktemp("base"), jobs=0) as made:
        made.book.add(web_slab.files(), "test", "begun")
        yield made


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Bench]:
    """Pages whose job is changed."""
    with bench(tmp_path, jobs=0) as made:
        made.book.add(web_slab.files(), "test", "begun")
        yield made


@pytest.fixture
def stated(tmp_path: Path) -> Iterator[Bench]:
    """A job whose plates are stated in `[base]`: the top has no pockets yet."""
    with bench(tmp_path, jobs=0) as made:
        made.book.add(web_slab.files(PLATES_IN_THE_JOB), "test", "begun")
        yield made


def attempt(pages: Bench, **sent: Any) -> dict[str, Any]:
    answer = pages.post("/api/jobs/1/base/try", json={"revision": 1, **sent})
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def planned(pages: Bench) -> tuple[Plan, BasePlan]:
    plan = pages.app.state.desk.store.now(1).planned.result
    assert plan is not None and plan.base is not None
    return plan, plan.base


def value(came: dict[str, Any], name: str) -> float:
    found: float = next(one["value"] for one in came["figures"] if one["name"] == name)
    return found


def test_the_page_shows_the_kinds_the_push_and_the_steel(pages: Bench) -> None:
    view = pages.device.get("/api/jobs/1/base").json()
    _, base = planned(pages)
    assert [one["name"] for one in view["kinds"] if one["chosen"]] == ["U legs"]
    assert len({one["picture"] for one in view["kinds"]}) == 5
    moves = 300.0 / base.sway_stiffness.x
    assert f"moves {moves:.2f} mm" in view["views"][0]
    assert view["legs"] == base.stack.safe_to_cut if base.stack else False
    assert sum(one["picture"].count('class="piece"') for one in view["tapes"]) == sum(
        len(one.pieces) for one in base.bars
    )
    shown = pages.device.get("/jobs/1/base").text
    assert "Side by side" in shown and "<script>" not in shown and "style=" not in shown


def test_nothing_changed_is_the_base_as_it_is(pages: Bench) -> None:
    came = attempt(pages)
    assert came["values"] == {}
    assert came["figures"] == pages.device.get("/api/jobs/1/base").json()["now"]
    assert all(one["better"] is None for one in came["figures"])


@pytest.mark.parametrize(
    ("kind", "sent"),
    [
        ("own", {"tube": "60x60x4", "stretcher": "40x40x3"}),
        ("own", {"plate_width": "160", "bolt_spacing": "120"}),
        ("own", {"plate_thickness": "12"}),
        ("stated", {"plate_width": "160", "plate_thickness": "12", "bolt_spacing": "120"}),
    ],
)
def test_what_is_taken_comes_as_it_was_tried(kind: str, sent: dict[str, str], request: pytest.FixtureRequest) -> None:
    bench_of: Bench = request.getfixturevalue(kind)
    came = attempt(bench_of, **sent)
    assert came["values"]
    answer = bench_of.edit(came["values"], 1)
    assert answer.status_code == 200, answer.text
    plan, base = planned(bench_of)
    assert value(came, "mass") == pytest.approx(base.mass, rel=1e-9)
    assert value(came, "push_along") == pytest.approx(300.0 / base.sway_stiffness.x, rel=1e-9)
    assert value(came, "sag") == pytest.approx(base.sag.long_term, rel=1e-9)
    assert value(came, "tip") == pytest.approx(base.tip_load, rel=1e-9)
    broken = [one for one in plan.top.clearances if not one.holds] if plan.top else []
    assert len(came["clashes"]) == len(broken)


def test_what_is_not_typed_follows_the_tube_and_is_told_and_what_is_typed_is_stated(tmp_path: Path) -> None:
    text = web_slab.JOB.partition("[[top.features]]")[0] + "\n[base]\ntube = '60x60x3'\n"
    with bench(tmp_path, jobs=0) as made:
        made.book.add(web_slab.files(text), "test", "begun")
        before = attempt(made)["made_of"]
        follows = attempt(made, tube="100x50x3")
        assert follows["values"] == {"base.tube": "100x50x3"}
        assert follows["made_of"]["plate_width"] != before["plate_width"]
        kept = attempt(made, tube="100x50x3", plate_width=before["plate_width"])
        assert kept["made_of"]["plate_width"] == before["plate_width"]
        assert kept["values"] == {"base.tube": "100x50x3", "base.plate.width": float(before["plate_width"])}
        assert made.edit(kept["values"], 1).status_code == 200
        assert made.device.get("/api/jobs/1/base").json()["here"]["plate_width"] == before["plate_width"]


def test_legs_are_not_said_to_be_ready_while_the_top_is_to_be_mended_or_no_steel_was_chosen(tmp_path: Path) -> None:
    bare = web_slab.JOB.partition("[[top.features]]")[0].partition("\n[base]")[0]
    with bench(tmp_path, jobs=0) as made:
        made.book.add(web_slab.files(bare), "test", "begun")
        view = made.device.get("/api/jobs/1/base").json()
        assert view["legs"] == "yes" and "choose tube" in view["legs_wait"]
        state = {one["name"]: one for one in view["head"]["steps"]}["base"]
        assert state["state"] != "done" and "legs can be cut" not in state["words"]
        assert made.edit({"base.tube": "60x60x3"}, 1).status_code == 200
        chosen = made.device.get("/api/jobs/1/base").json()
        assert "choose tube" not in chosen["legs_wait"]
        stops = [one for one in made.device.get("/api/jobs/1/top").json()["problems"] if one["severity"] == "stop"]
        done = {one["name"]: one["state"] for one in chosen["head"]["steps"]}["base"] == "done"
        assert done == (not stops and chosen["legs_wait"] == "")


def test_the_inserts_that_the_bolts_want_are_put_into_the_top_by_one_press(stated: Bench) -> None:
    problem = next(
        one
        for one in stated.device.get("/api/jobs/1/base").json()["problems"]
        if one["code"] == "base/inserts-unstated"
    )
    page = stated.device.get("/jobs/1/base").text
    assert "slabwright why" not in page and "inserts of the base into the top" in page
    assert stated.edit(problem["apply"]["values"], 1).status_code == 200
    plan, base = planned(stated)
    assert plan.top is not None and base.inserts_to_paste == ""
    assert sum(one.kind == "insert" for one in plan.top.layout.top.features) == len(problem["apply"]["values"])


def test_every_mend_that_can_be_applied_does_what_it_promises(pages: Bench) -> None:
    view = pages.device.get("/api/jobs/1/base").json()
    _, base = planned(pages)
    applied = [one for one in view["mends"] if one["apply"]]
    assert len(applied) >= 3
    for one, mend in zip(view["mends"], base.mends, strict=True):
        assert one["change"] == mend.change
        came = attempt(pages, values=one["apply"]["values"])
        assert value(came, "push_along") == pytest.approx(300.0 / mend.sway_x, rel=0.02)
        assert value(came, "mass") == pytest.approx(base.mass + mend.mass, rel=0.01)
        assert any(figure["better"] for figure in came["figures"])


def test_the_columns_begin_with_what_helps_most(pages: Bench) -> None:
    view = pages.device.get("/api/jobs/1/base").json()
    first = {key: said for key, said in view["columns"][0].items() if key != "name"}
    assert attempt(pages, **first)["values"] == view["mends"][0]["apply"]["values"]


def test_another_picture_and_as_made_legs_are_tried_too(own: Bench) -> None:
    before = attempt(own)
    other = attempt(own, values={"piece.base": "closed loops", "base.leg_as_made": 671})
    assert value(other, "legs") == 671
    assert value(other, "mass") > value(before, "mass")
    assert own.edit({"base.leg_as_made": 671}, 1).status_code == 200
    made = own.device.get("/api/jobs/1/base").json()
    assert made["as_made"][0]["answer"] == "671" and made["legs"] == "yes"


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ({"tube": "oak"}, "oak"),
        ({"plate_width": "wide"}, "plate width"),
        ({"plate_width": "-4"}, "more than 0"),
        ({"bolt_spacing": "inf"}, "bolt spacing"),
        ({"bolt_spacing": "500"}, "misses"),
        ({"values": {"slab.species": "oak"}}, "slab.species"),
        ({"values": {"piece.length": 900}}, "brief"),
        ({"values": {"piece.height": 60}}, "height"),
    ],
)
def test_what_makes_no_base_is_told_in_one_line(pages: Bench, sent: dict[str, Any], told: str) -> None:
    answer = pages.post("/api/jobs/1/base/try", json={"revision": 1, **sent})
    assert answer.status_code == 422
    assert told in answer.json()["error"] and "\n" not in answer.json()["error"]


def test_in_inches_everything_is_typed_and_told_in_inches(tmp_path: Path) -> None:
    with bench(tmp_path, jobs=0) as made:
        made.book.add(web_slab.files(INCHES), "test", "begun")
        view = made.device.get("/api/jobs/1/base").json()
        assert view["waits"] == ""
        assert '"' in view["columns"][0]["plate_width"] or float(view["columns"][0]["plate_width"]) < 20
        came = attempt(made, plate_thickness='1/2"')
        assert came["values"] == {"base.plate.thickness": '1/2"'}
        assert " mm" not in "".join(one["shown"] for one in came["figures"])
        top = made.device.get("/api/jobs/1/top").json()
        assert [step["words"] for step in top["steps"]] == ['1/16"', '1/4"', '1"']


def test_a_job_without_a_slab_waits_and_the_kind_can_be_chosen(tmp_path: Path) -> None:
    with bench(tmp_path) as made:
        view = made.device.get("/api/jobs/1/base").json()
        assert view["waits"] and view["views"] == [] and len(view["kinds"]) == 5
        assert "waits for" in made.device.get("/jobs/1/base").text
        assert made.edit({"piece.base": "trestles"}, 1).status_code == 200
        assert made.post("/api/jobs/1/base/try", json={"revision": 2}).status_code == 422
