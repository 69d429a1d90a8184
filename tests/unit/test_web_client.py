"""The client's page: one job, signed, for some days; what the client says is kept with name, time and revision."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.unit.web_bench import Bench, bench, device_at

from slabwright.web.pages.client import reach_of
from slabwright.web.security.gate import Rules


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Bench]:
    with bench(tmp_path, jobs=2) as made:
        yield made


def _given(pages: Bench, job: int = 1) -> str:
    answer = pages.post(f"/api/jobs/{job}/client-links", json={"to": "the library", "days": 3})
    assert answer.status_code == 201
    return str(answer.json()["address"]).removeprefix("http://127.0.0.1:8400")


def _form(page: str, **more: str) -> dict[str, str]:
    token = page.partition('name="token" value="')[2].partition('"')[0]
    revision = page.partition('name="revision" value="')[2].partition('"')[0]
    return {"token": token, "revision": revision, "what": "the drawings", **more}


def _photo() -> bytes:
    from PIL import Image

    held = io.BytesIO()
    Image.new("RGB", (40, 30), "brown").save(held, "JPEG")
    return held.getvalue()


def test_an_approval_is_kept_with_name_and_revision(pages: Bench) -> None:
    link = _given(pages)
    client, _ = device_at(pages.app)
    page = client.get(link)
    assert page.status_code == 200
    said = client.post(link, data=_form(page.text, name="A. Client", verdict="approved"))
    assert said.status_code == 303
    [signed] = pages.book.sign_offs(1)
    assert (signed.what, signed.revision, signed.name, signed.verdict) == ("the drawings", 1, "A. Client", "approved")
    assert "A. Client" in client.get(link).text
    assert pages.device.get("/api/jobs/1/client").json()["sign_offs"][0]["name"] == "A. Client"


def test_a_change_that_is_asked_for_wants_words(pages: Bench) -> None:
    link = _given(pages)
    client, _ = device_at(pages.app)
    page = client.get(link).text
    assert client.post(link, data=_form(page, name="A. Client", verdict="asked")).status_code == 422
    assert client.post(link, data=_form(page, name=" ", verdict="approved")).status_code == 422
    assert client.post(link, data=_form(page, name="A", verdict="approved") | {"what": "all of it"}).status_code == 404
    assert client.post(link, data=_form(page, name="A", verdict="approved") | {"token": "x"}).status_code == 403
    assert pages.book.sign_offs(1) == ()
    assert client.post(link, data=_form(page, name="A", verdict="asked", words="5 cm higher")).status_code == 303
    assert pages.book.sign_offs(1)[0].words == "5 cm higher"


def test_what_changed_since_is_looked_at_before_it_is_approved(pages: Bench) -> None:
    link = _given(pages)
    client, _ = device_at(pages.app)
    page = client.get(link).text
    pages.edit({"piece.height": 730}, 1)
    answer = client.post(link, data=_form(page, name="A. Client", verdict="approved"))
    assert answer.status_code == 409
    assert pages.book.sign_offs(1) == ()
    assert client.post(link, data=_form(answer.text, name="A. Client", verdict="approved")).status_code == 303
    assert pages.book.sign_offs(1)[0].revision == 2


def test_the_link_opens_its_own_job_and_nothing_else(tmp_path: Path) -> None:
    with bench(tmp_path, rules=Rules(hosts=None, locked=True), jobs=2) as pages:
        photos = [pages.book.add_photo(job, "x.jpg", _photo(), "test", "glued up") for job in (1, 2)]
        token, _ = pages.app.state.desk.links.give(1, 3)
        client, _ = device_at(pages.app)
        link = f"/client/{token}"
        assert "glued up" in client.get(link).text
        assert client.get(f"/api/client/{token}").json()["title"] == "Hall desk"
        own = client.get(f"{link}/photos/{photos[0].id}")
        assert (own.status_code, own.headers["content-type"]) == (200, "image/jpeg")
        assert client.get(f"{link}/photos/{photos[1].id}").status_code == 404
        assert client.get(f"{link}/drawings/..%2f..%2fjob").status_code == 404
        for address in ("/api/jobs/1/brief", "/api/jobs/1/plan", "/api/jobs", f"/api/jobs/1/photos/{photos[0].id}"):
            assert client.get(address).status_code == 401
        assert "/jobs/" not in client.get(link).text


@pytest.mark.parametrize(
    ("host", "says"),
    [
        ("127.0.0.1", "No client can open it"),
        ("localhost", "No client can open it"),
        ("::1", "No client can open it"),
        ("192.168.1.20", "in your house's own network alone"),
        ("bench.local", "in your house's own network alone"),
        ("bench", "in your house's own network alone"),
        ("fd00::20", "in your house's own network alone"),
        ("bench.example.org", ""),
        ("93.184.216.34", ""),
    ],
)
def test_who_cannot_open_a_link_is_told(host: str, says: str) -> None:
    assert reach_of(host).startswith(says) or says in reach_of(host)
    assert bool(reach_of(host)) == bool(says)


def test_the_link_comes_with_who_cannot_open_it(pages: Bench) -> None:
    given = pages.post("/api/jobs/1/client-links", json={"to": "the library", "days": 3}).json()
    assert "serve --lan" in given["reach"]


def test_the_client_sees_what_is_made_and_where_fill_shows(pages: Bench) -> None:
    example = Path(__file__).parents[2] / "examples" / "reading-table"
    files = {path.name: path.read_bytes() for path in example.iterdir() if path.is_file()}
    job = pages.book.add(files, "test", "brought in").job
    link = _given(pages, job)
    view = pages.device.get(f"/api{link}").json()
    made = {one["name"]: one["value"] for one in view["made"]}
    assert "about 980 mm wide" in made["Size"]
    assert made["Finish of the wood"] == "hard-wax oil"
    assert made["Ready"] == "by 29 January 2027"
    assert "(quote No. 26-014)" in made["To pay, all in"]
    assert "the finish: hard-wax oil" in view["asked"]
    fill = next(one["address"] for one in view["drawings"] if one["words"] == "Where the fill shows")
    assert "filled place" in pages.device.get(fill).text
    large = pages.device.get(f"{fill}/large")
    assert large.status_code == 200
    assert f'src="{fill}"' in large.text
    assert "/jobs/" not in large.text
    assert pages.device.get(f"{link}/drawings/slab-scale/large").status_code == 404
    assert pages.device.get(f"{link}x/drawings/fill-that-shows/large").status_code == 404
    # A price that was not quoted, or lacks something, is not the client's.
    files["job.toml"] = files["job.toml"].replace(b'number = "26-014"', b'number = ""')
    pages.book.save(job, files, 1, "test", "")
    made = {one["name"]: one["value"] for one in pages.device.get(f"/api{link}").json()["made"]}
    assert "To pay, all in" not in made


def test_a_link_that_was_taken_back_is_worth_nothing(pages: Bench) -> None:
    link = _given(pages)
    [listed] = pages.device.get("/api/jobs/1/client").json()["links"]
    header = {"x-slabwright-token": pages.token}
    assert pages.device.delete(f"/api/jobs/2/client-links/{listed['nonce']}", headers=header).status_code == 404
    assert pages.device.get(link).status_code == 200
    assert pages.device.delete(f"/api/jobs/1/client-links/{listed['nonce']}", headers=header).status_code == 200
    assert pages.device.get(link).status_code == 404
