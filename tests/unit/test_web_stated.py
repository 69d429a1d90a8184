"""The page of all that is stated: no key is left out, what is typed there is what the files say, one shop serves every job."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.unit.web_bench import JOB, Bench, bench

from slabwright.job.schema import job_schema, shop_schema
from slabwright.web.linking import linked
from slabwright.web.plain_words import taken_words
from slabwright.web.stated_form import StatedField, StatedTable, stated_tables

SHOP = b"""# Rates of the shop, invented.
units = "metric"

[prices]
hour = 48

[history]
file = "hours.csv"
"""
HOURS = b"date,job,kind,amount,minutes\n2026-01-05,Bench,sanding,2.0,95\n"


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Bench]:
    with bench(tmp_path) as made:
        yield made


def asked(tables: list[StatedTable]) -> Iterator[StatedField]:
    for table in tables:
        yield from table.fields
        yield from asked(table.tables)
        for row in table.rows:
            yield from row.fields
            yield from asked(row.tables)


@pytest.mark.parametrize(("file", "schema"), [("job", job_schema()), ("shop", shop_schema())])
def test_every_outermost_key_of_a_file_is_there(file: str, schema: dict[str, object]) -> None:
    tables = stated_tables(b"", file)  # type: ignore[arg-type]
    plain = {field.key for table in tables if not table.key for field in table.fields}
    assert {table.key for table in tables if table.key} | plain == set(schema["properties"])  # type: ignore[call-overload]


@pytest.mark.parametrize("example", ["reading-table", "hall-desk", "window-bench"])
@pytest.mark.parametrize("file", ["job", "shop"])
def test_every_stated_value_of_the_examples_stands_at_its_key(example: str, file: str) -> None:
    data = (Path(__file__).parents[2] / "examples" / example / f"{file}.toml").read_bytes()
    found = {field.key: field.answer for field in asked(stated_tables(data, file)) if field.answer}  # type: ignore[arg-type]

    def leaves(value: object, key: str) -> Iterator[tuple[str, object]]:
        if isinstance(value, dict):
            for name, inner in value.items():
                yield from leaves(inner, f"{key}.{name}" if key else name)
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            for number, inner in enumerate(value):
                yield from leaves(inner, f"{key}[{number}]")
        else:
            yield key, value

    stated = {key: value for key, value in leaves(tomllib.loads(data.decode()), "") if value != []}
    kinds = {key for key in stated if key.rpartition(".")[0] in ("",) or key.endswith(".kind")}
    assert stated.keys() - found.keys() <= kinds
    assert found.keys() <= stated.keys()
    for key, answer in found.items():
        if isinstance(stated[key], str):
            assert answer == stated[key]


def test_a_key_of_the_shop_is_stated_and_stands_in_its_file(pages: Bench) -> None:
    saved = pages.post(
        "/api/jobs/1/edits", json={"based_on": 1, "values": {"prices.hour": 52.5}, "why": "", "file": "shop"}
    )
    assert saved.status_code == 200, saved.text
    assert tomllib.loads(pages.book.revision(1).files["shop.toml"].decode())["prices"]["hour"] == 52.5
    view = pages.device.get("/api/jobs/1/stated?file=shop").json()
    prices = next(table for table in view["tables"] if table["key"] == "prices")
    assert [one["answer"] for one in prices["fields"] if one["key"] == "prices.hour"] == ["52.5"]
    assert 'value="52.5"' in pages.device.get("/jobs/1/stated?file=shop").text


def test_a_supplier_is_added_and_taken_out(pages: Bench) -> None:
    def send(values: dict[str, object], based_on: int) -> int:
        sent = {"based_on": based_on, "values": values, "why": "", "file": "shop"}
        return int(pages.post("/api/jobs/1/edits", json=sent).status_code)

    assert send({"suppliers[0]": {"name": "Yard, invented", "what": ["steel"], "lead_days": 3}}, 1) == 200
    newest = pages.book.job(1).revision
    assert send({"suppliers[0]": None}, newest) == 200
    assert b"Yard" not in pages.book.revision(1).files["shop.toml"]


def test_a_new_job_begins_with_the_shop_of_the_last_one(pages: Bench) -> None:
    pages.book.add({"job.toml": JOB.encode(), "shop.toml": SHOP, "hours.csv": HOURS}, "test", "begun")
    begun = pages.post("/api/jobs", json={"title": "Another", "species": "ash, white"})
    assert begun.status_code == 201, begun.text
    files = pages.book.revision(begun.json()["job"]).files
    assert files["shop.toml"] == SHOP
    assert files["hours.csv"] == HOURS


def test_other_jobs_take_the_same_shop_when_they_are_given_it(pages: Bench) -> None:
    pages.book.add({"job.toml": JOB.encode(), "shop.toml": SHOP, "hours.csv": HOURS}, "test", "begun")
    view = pages.device.get("/api/jobs/2/stated?file=shop").json()
    assert [(one["job"], one["same"]) for one in view["others"]] == [(1, False)]
    answer = pages.post("/api/jobs/2/stated/shop", json={"jobs": [1]})
    assert [(one["job"], one["refused"]) for one in answer.json()["taken"]] == [(1, "")]
    assert pages.book.revision(1).files["shop.toml"] == SHOP
    assert pages.device.get("/api/jobs/2/stated?file=shop").json()["others"][0]["same"]


def test_a_job_without_a_shop_has_none_to_give(pages: Bench) -> None:
    pages.book.add({"job.toml": JOB.encode()}, "test", "begun")
    refused = pages.post("/api/jobs/1/stated/shop", json={"jobs": [2]})
    assert refused.status_code == 422
    assert "no shop file of its own" in refused.json()["error"]


def test_a_shop_that_does_not_suit_a_job_is_refused_and_changes_nothing(pages: Bench) -> None:
    inch = (
        JOB.replace('title = "Hall desk"', 'title = "Inches"\nunits = "inch"')
        .replace("1600 ", "63 ")
        .replace("740", "29")
        .replace("1900", "75")
        .replace("800", "31")
        .replace("54", "2")
        .encode()
    )
    pages.book.add({"job.toml": inch}, "test", "begun")
    pages.book.add({"job.toml": JOB.encode(), "shop.toml": b"[prices]\nhour = 48\n"}, "test", "begun")
    taken = pages.post("/api/jobs/3/stated/shop", json={"jobs": [2, 1]}).json()["taken"]
    assert "units is missing" in taken[0]["refused"]
    assert taken[1]["refused"] == ""
    assert "shop.toml" not in pages.book.revision(2).files


def test_a_shop_file_of_the_config_folder_is_begun_from(
    pages: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    (tmp_path / "slabwright").mkdir()
    (tmp_path / "slabwright" / "shop.toml").write_bytes(SHOP.partition(b"[history]")[0])
    assert pages.device.get("/api/jobs/1/stated?file=shop").json()["general"]
    sent = {"based_on": 1, "values": {"prices.machine_hour": 20}, "why": "", "file": "shop"}
    assert pages.post("/api/jobs/1/edits", json=sent).status_code == 200
    prices = tomllib.loads(pages.book.revision(1).files["shop.toml"].decode())["prices"]
    assert prices == {"hour": 48, "machine_hour": 20}


def test_errors_are_told_in_the_words_of_the_pages_and_name_their_key(pages: Bench) -> None:
    answer = pages.edit({"delivery.steps": [{"kind": "door", "width": 830}]}, 1)
    assert answer.status_code == 422
    told = answer.json()
    assert told["key"] == "delivery.steps[0].height"
    assert told["error"].startswith("Delivery, steps 1: height (delivery.steps[0].height): is missing")
    assert "toml" not in told["error"] and told["error"].endswith("state it")


@pytest.mark.parametrize(
    ("takes", "said"),
    [
        ("number from 0", "a number, at least 0"),
        ("list: number above 0 below 150", "one or more, each a number, more than 0 and less than 150"),
        ("whole number from 1 to 20", "a whole number, at least 1 and at most 20"),
        ("length above 0", "a length"),
        ("max, or length above 0", "max, or a length"),
        ("text", ""),
    ],
)
def test_what_a_question_takes_is_said_plainly(takes: str, said: str) -> None:
    assert taken_words(takes) == said


def test_two_revisions_are_compared_in_the_words_of_the_questions(pages: Bench) -> None:
    assert pages.edit({"base.tube": "80x80x4", "piece.length": 1700}, 1).status_code == 200
    page = pages.device.get("/jobs/1/compare?old=1&new=2").text
    assert "Base: tube" in page and "Piece: length" in page
    assert 'class="pairs"' in page and "0.00" not in page.partition("What came of it")[0]


def test_a_table_that_is_named_leads_to_its_questions() -> None:
    words = linked(
        "State [prices] hour in shop.toml, <b> or [[top.features]], slab.lay.supports, not [page 3] or e.g. this", 7
    )
    assert '<a href="/jobs/7/stated?file=shop#prices">Prices</a> hour for the shop' in words
    assert '<a href="/jobs/7/stated?file=job#top.features">Top, features</a>' in words
    assert '<a href="/jobs/7/stated?file=job#slab.lay">Slab, lay: supports</a>' in words
    assert "e.g. this" in words
    assert "&lt;b&gt;" in words
    assert "[page 3]" in words


def test_a_jobs_own_address_leads_to_its_brief(pages: Bench) -> None:
    answer = pages.device.get("/jobs/1")
    assert (answer.status_code, answer.headers["location"]) == (308, "/jobs/1/brief")
