"""Edits on the bench pages: checked first, saved as a revision, told with every figure that moved; nothing is ever lost."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.unit.web_bench import JOB, Bench, bench, device_at


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Bench]:
    with bench(tmp_path) as made:
        yield made


def test_an_edit_is_a_revision_that_keeps_the_remarks(pages: Bench) -> None:
    answer = pages.edit({"piece.length": 1550}, 1)
    assert answer.status_code == 200
    assert answer.json()["revision"] == 2
    assert pages.text() == JOB.replace("length = 1600", "length = 1550")
    assert pages.book.revision(1).who == "bench"


def test_an_edit_tells_every_figure_that_moved(pages: Bench) -> None:
    before = pages.device.get("/api/jobs/1/plan").json()
    edited = pages.edit({"slab.planned.thickness": 80}, 1).json()
    after = pages.device.get("/api/jobs/1/plan").json()
    moved = {row["path"]: row for row in edited["moved"]}
    assert moved["board.thickness"]["old"] == before["board"]["thickness"]
    assert moved["board.thickness"]["new"] == after["board"]["thickness"]
    assert moved["board.thickness"]["unit"] == "mm"
    assert moved["board.thickness"]["new_shown"].endswith(" mm")
    assert before["board"]["thickness"] != after["board"]["thickness"]
    for row in moved.values():
        assert row["old"] != row["new"]


def test_an_edit_of_words_alone_moves_no_figure(pages: Bench) -> None:
    assert pages.edit({"piece.finish": "soap"}, 1).json()["moved"] == []


def test_null_takes_a_key_away(pages: Bench) -> None:
    assert pages.edit({"job.client": None}, 1).status_code == 200
    assert "client" not in pages.text().partition("[piece]")[0].partition("\n")[2]


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"piece.length": "long"}, "Piece: length (piece.length): 'long' is not a length"),
        ({"piece.lenght": 1500}, "piece.lenght: "),
        ({"piece length": 1500}, "is not a key"),
        ({"slab.species": "unobtainium"}, "species"),
        ({"slab.survey": "../../secrets.csv"}, "slab.survey"),
        ({"slab.survey": "/etc/passwd"}, "slab.survey"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_line_and_not_saved(
    pages: Bench, values: dict[str, object], told: str
) -> None:
    answer = pages.edit(values, 1)
    assert answer.status_code == 422
    assert told in answer.json()["error"]
    assert "\n" not in answer.json()["error"]
    assert pages.book.job(1).revision == 1
    assert pages.book.drafts(1) == ()


def test_the_second_of_two_is_told_and_loses_nothing(pages: Bench) -> None:
    assert pages.edit({"piece.length": 1550}, 1).status_code == 200
    answer = pages.edit({"piece.height": 730}, 1)
    assert answer.status_code == 409
    assert answer.json()["newest"] == 2
    draft = answer.json()["draft"]
    listed = pages.device.get("/api/jobs/1/history").json()["drafts"]
    assert [row["id"] for row in listed] == [draft]
    taken = pages.post(f"/api/jobs/1/drafts/{draft}/take?based_on=2")
    assert taken.status_code == 200
    assert "length = 1550" in pages.text()
    assert "height = 730" in pages.text()
    assert pages.device.get("/api/jobs/1/history").json()["drafts"] == []


def test_a_draft_of_another_job_is_not_there(tmp_path: Path) -> None:
    with bench(tmp_path, jobs=2) as pages:
        pages.edit({"piece.length": 1550}, 1)
        draft = pages.edit({"piece.height": 730}, 1).json()["draft"]
        assert pages.device.get(f"/api/jobs/2/drafts/{draft}").status_code == 404
        assert pages.post(f"/api/jobs/2/drafts/{draft}/take?based_on=1").status_code == 404
        assert pages.post(f"/api/jobs/2/drafts/{draft}/settle").status_code == 404


def test_undo_brings_the_revision_before_back(pages: Bench) -> None:
    pages.edit({"slab.planned.thickness": 80}, 1)
    undone = pages.post("/api/jobs/1/restore", json={"number": 1}).json()
    assert undone["revision"] == 3
    assert "board.thickness" in {row["path"] for row in undone["moved"]}
    assert pages.text() == JOB
    compared = pages.device.get("/api/jobs/1/compare?old=1&new=3").json()
    assert compared["stated"] == []
    assert compared["came"]["moved"] == []


def test_compare_tells_what_was_stated_and_what_came_of_it(pages: Bench) -> None:
    pages.edit({"slab.planned.thickness": 80}, 1)
    compared = pages.device.get("/api/jobs/1/compare?old=1&new=2").json()
    assert [(row["key"], row["old"], row["new"]) for row in compared["stated"]] == [
        ("slab.planned.thickness", "54", "80")
    ]
    assert compared["came"]["moved"]


def test_a_shop_file_is_edited_too(pages: Bench) -> None:
    answer = pages.post("/api/jobs/1/edits", json={"based_on": 1, "values": {"bed.length": 2600}, "file": "shop"})
    assert answer.status_code == 200
    assert b"length = 2600" in pages.book.revision(1).files["shop.toml"]


def test_a_new_job_from_six_answers(pages: Bench) -> None:
    sent = {"title": "Bench by the window", "units": "inch", "length": "7' 6\"", "species": "white ash", "base": "u"}
    made = pages.post("/api/jobs", json=sent)
    assert made.status_code == 201
    text = pages.text(made.json()["job"])
    assert 'length = "7ft 6in"' in text
    assert 'species = "ash, white"' in text
    assert 'base = "U legs"' in text
    refused = pages.post("/api/jobs", json=sent | {"height": "tall"})
    assert refused.status_code == 422
    assert refused.json()["error"].startswith("height: 'tall' is not a length")


def test_all_that_is_wrong_with_a_new_job_is_told_at_once(pages: Bench) -> None:
    sent = {"title": "Bench", "length": "long", "species": "oak", "height": "740", "base": "U legs"}
    wrong = pages.post("/api/jobs/answers", json=sent).json()["wrong"]
    assert [one["key"] for one in wrong] == ["length", "species"]
    assert wrong[0]["choices"] == []
    assert wrong[1]["choices"][:2] == ["oak, white", "oak, northern red"]
    refused = pages.post("/api/jobs", json=sent).json()["error"]
    assert refused.startswith("length: 'long' is not a length")
    assert "species: 'oak' is not a wood of the table" in refused and "oak, white" in refused
    assert len(pages.book.jobs()) == 1
    assert (
        pages.post("/api/jobs/answers", json=sent | {"length": "1,6 m", "species": "white oak"}).json()["wrong"] == []
    )
    [unknown] = pages.post("/api/jobs/answers", json={"title": "Bench", "species": "xyzzy"}).json()["wrong"]
    assert unknown["choices"] == [] and "names look like" in unknown["error"]


def test_a_survey_that_is_put_in_is_named_in_the_job_file(pages: Bench) -> None:
    rows = ["face,x,y,z"] + [
        f"{face},{x},{y},{z}" for face, z in (("A", 54), ("B", 0)) for x in range(0, 1901, 190) for y in (0, 300, 600)
    ]
    sent = [("files", ("survey.csv", "\n".join(rows).encode()))]
    answer = pages.post("/api/jobs/1/files", files=sent, data={"based_on": "1", "key": "survey"})
    assert answer.status_code == 200, answer.text
    assert 'survey = "survey.csv"' in pages.text()
    assert "slab.seat.thickness" in {row["path"] for row in answer.json()["moved"]}


def test_why_a_figure_is_what_it_is(pages: Bench) -> None:
    why = pages.device.get("/api/jobs/1/why/board.thickness").json()
    assert why["shown"].endswith(" mm")
    assert {"What"} <= {line["label"] for line in why["lines"]}
    assert pages.device.get("/api/jobs/1/why/board.thicknes").status_code == 404
    assert pages.device.get("/api/jobs/1/why/board").status_code == 404
    assert "Why " in pages.device.get("/jobs/1/why/board.thickness").text


def test_each_device_saves_under_its_own_name(pages: Bench) -> None:
    other, token = device_at(pages.app)
    header = {"x-slabwright-token": token}
    assert other.put("/api/session", json={"who": "  the\nvan "}, headers=header).json()["who"] == "the van"
    other.post("/api/jobs/1/edits", json={"based_on": 1, "values": {"piece.height": 735}}, headers=header)
    pages.edit({"piece.height": 736}, 2)
    assert [row.who for row in pages.book.revisions(1)] == ["test", "the van", "bench"]


@pytest.mark.parametrize("name", ["brief", "client", "history", "sheets"])
def test_every_page_has_its_json_twin(pages: Bench, name: str) -> None:
    twin = pages.device.get(f"/api/jobs/1/{name}").json()
    page = pages.device.get(f"/jobs/1/{name}")
    assert twin["head"]["title"] == "Hall desk"
    assert page.status_code == 200
    assert "Hall desk" in page.text
    assert f'href="/jobs/1/{name}"' in page.text
    assert " style=" not in page.text
    assert "http://" not in page.text.replace("http://www.w3.org/2000/svg", "")
    assert "https://" not in page.text


def test_a_job_that_cannot_be_planned_is_shown_with_what_is_wrong(pages: Bench) -> None:
    pages.book.save(1, {"job.toml": b"[job]\ntitle = 3\n"}, 1, "test", "broken")
    page = pages.device.get("/jobs/1/brief")
    assert page.status_code == 200
    assert "Job: title (job.title)" in page.text
    assert pages.post("/api/jobs/1/restore", json={"number": 1}).status_code == 200
    assert "Job: title (job.title)" not in pages.device.get("/jobs/1/brief").text
