"""Strangers and slips: hosts, sites, tokens, passcode, sessions, rates, sizes and kinds of files, and what errors tell."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.unit.web_bench import JOB, Bench, bench, device_at

from slabwright.findings import SlabwrightError
from slabwright.web.security.gate import Rules
from slabwright.web.security.keeping import Keeping
from slabwright.web.security.limits import Limits, Rate
from slabwright.web.security.passcode import Passcode, made_up
from slabwright.web.security.sessions import COOKIE, Session, Sessions
from slabwright.web.security.uploads import checked_folder, checked_upload


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Bench]:
    with bench(tmp_path) as made:
        yield made


@pytest.fixture
def locked(tmp_path: Path) -> Iterator[Bench]:
    with bench(tmp_path, rules=Rules(hosts=None, locked=True)) as made:
        made.app.state.desk.passcode.set("open sesame")
        yield made


def _form_token(page: str) -> str:
    return page.partition('name="token" value="')[2].partition('"')[0]


def test_another_host_is_refused(pages: Bench) -> None:
    for host in ("evil.example", "127.0.0.1.evil.example", "192.168.1.7:8400", ""):
        assert pages.device.get("/api/jobs", headers={"host": host}).status_code == 403
    for host in ("127.0.0.1:8400", "localhost", "LOCALHOST:1", "[::1]:8400"):
        assert pages.device.get("/api/jobs", headers={"host": host}).status_code == 200


def test_a_change_wants_the_token_of_its_own_device(pages: Bench) -> None:
    body = {"based_on": 1, "values": {"piece.height": 730}}
    _, other = device_at(pages.app)
    for headers in ({}, {"x-slabwright-token": "0" * 64}, {"x-slabwright-token": other}):
        assert pages.device.post("/api/jobs/1/edits", json=body, headers=headers).status_code == 403
    foreign = {"x-slabwright-token": pages.token, "origin": "http://evil.example"}
    assert pages.device.post("/api/jobs/1/edits", json=body, headers=foreign).status_code == 403
    own = {"x-slabwright-token": pages.token, "origin": "http://127.0.0.1:8400"}
    assert pages.device.post("/api/jobs/1/edits", json=body, headers=own).status_code == 200
    assert pages.book.job(1).revision == 2


def test_the_browser_is_told_what_it_may_do(pages: Bench) -> None:
    for address in ("/", "/jobs", "/jobs/1/brief", "/api/jobs", "/static/bench.css", "/nothing"):
        headers = pages.device.get(address).headers
        policy = headers["content-security-policy"]
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy
        assert "default-src 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
    cookie = device_at(pages.app)[0].get("/").headers.get("set-cookie", "")
    fresh = cookie or pages.device.get("/", headers={"cookie": ""}).headers["set-cookie"]
    assert "HttpOnly" in fresh
    assert "SameSite=Strict" in fresh


def test_without_the_passcode_nothing_is_shown(locked: Bench) -> None:
    for address in ("/api/jobs", "/api/jobs/1/plan", "/api/session", "/api/openapi.json"):
        assert locked.device.get(address).status_code == 401
    for address in ("/", "/jobs/1/brief"):
        answer = locked.device.get(address)
        assert (answer.status_code, answer.headers["location"]) == (303, "/login")
    assert locked.device.get("/static/bench.css").status_code == 200


def test_the_passcode_opens_under_a_new_session(locked: Bench) -> None:
    page = locked.device.get("/login")
    before = locked.device.cookies[COOKIE]
    wrong = locked.device.post("/login", data={"passcode": "guess", "token": _form_token(page.text)})
    assert wrong.status_code == 401
    assert locked.device.get("/api/jobs").status_code == 401
    assert locked.device.post("/login", data={"passcode": "open sesame", "token": "planted"}).status_code == 403
    entered = locked.device.post("/login", data={"passcode": "open sesame", "token": _form_token(page.text)})
    assert entered.status_code == 303
    assert locked.device.get("/api/jobs").status_code == 200
    locked.device.cookies.clear()
    locked.device.cookies.set(COOKIE, before)
    assert locked.device.get("/api/jobs").status_code == 401


def test_a_page_of_the_house_sends_what_browsers_take_there(locked: Bench) -> None:
    opener = "cross-origin-opener-policy"
    assert locked.device.get("/login").headers[opener] == "same-origin"
    house = locked.device.get("/login", headers={"host": "192.168.1.20:8400"})
    assert opener not in house.headers
    assert house.headers["x-frame-options"] == "DENY"
    assert locked.device.get("https://bench.example/login", headers={"host": "bench.example"}).headers[opener]


def test_guessing_the_passcode_is_slowed_down(locked: Bench) -> None:
    token = _form_token(locked.device.get("/login").text)
    answers = [locked.device.post("/login", data={"passcode": f"guess {n}", "token": token}) for n in range(8)]
    assert [answer.status_code for answer in answers] == [401] * 6 + [429] * 2
    assert int(answers[-1].headers["retry-after"]) > 0


def test_rates_are_kept_by_address() -> None:
    now = [0.0]
    limits = Limits(lambda: now[0])
    rate = Rate(2, 10.0)
    assert [limits.wait("login", "one", rate) for _ in range(3)] == [0.0, 0.0, 10.0]
    assert limits.wait("login", "other", rate) == 0.0
    assert limits.wait("upload", "one", rate) == 0.0
    now[0] = 10.0
    assert limits.wait("login", "one", rate) == 0.0


def test_what_is_too_large_is_refused_whether_it_says_so_or_not(tmp_path: Path) -> None:
    rules = Rules(largest_body=2000, largest_upload=5000)
    with bench(tmp_path, rules=rules) as pages:
        headers = {"x-slabwright-token": pages.token, "content-type": "application/json"}
        told = pages.device.post("/api/jobs", content=b"x" * 3000, headers=headers)
        untold = pages.device.post("/api/jobs", content=iter([b"x" * 1500, b"x" * 1500]), headers=headers)
        sent = pages.post("/api/jobs/import", files=[("files", ("job.toml", b"#" * 6000))])
        assert [told.status_code, untold.status_code, sent.status_code] == [413, 413, 413]
        assert "MB" in untold.json()["error"]


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("../job.toml", b""),
        ("/etc/passwd.csv", b""),
        ("a\\b.csv", b""),
        ("survey.exe", b"MZ"),
        ("survey", b"x,y"),
        ("survey.csv", b"\x00\x01"),
        ("survey.csv", b"\xff\xfe\xff"),
        ("photo.png", b"MZ\x90"),
        ("photo.jpg", b"<script>"),
        ("scan.stl", b"MZ\x90\x00" * 40),
        ("scan.ply", b"MZ\x90"),
    ],
)
def test_a_file_is_what_its_name_says_or_it_is_not_taken(name: str, data: bytes) -> None:
    with pytest.raises(SlabwrightError):
        checked_upload(name, data)


def test_files_of_a_job_are_taken() -> None:
    checked_upload("scan.stl", bytes(80) + (2).to_bytes(4, "little") + bytes(100))
    checked_upload("photos/face-a.png", b"\x89PNG\r\n\x1a\n....")
    files = {"desk/job.toml": JOB.encode(), "desk/survey.csv": b"face,x,y,z\n", "desk/.hidden": b"\x00"}
    assert set(checked_folder(files)) == {"job.toml", "survey.csv"}


def _zipped(files: dict[str, bytes]) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return held.getvalue()


def test_a_zip_is_unpacked_with_care() -> None:
    assert set(checked_folder({"desk.zip": _zipped({"desk/job.toml": JOB.encode()})})) == {"job.toml"}
    bad = (
        {"../job.toml": JOB.encode(), "job.toml": b""},
        {"job.toml": JOB.encode(), "big.csv": b"0" * 140_000_000},
        {"job.toml": JOB.encode(), "run.exe": b"MZ"},
        {"other.toml": JOB.encode()},
    )
    for files in bad:
        with pytest.raises(SlabwrightError):
            checked_folder({"desk.zip": _zipped(files)})
    with pytest.raises(SlabwrightError, match="zip"):
        checked_folder({"desk.zip": b"PK\x03\x04 broken"})


def test_a_photo_that_is_a_program_is_refused(pages: Bench) -> None:
    answer = pages.post("/api/jobs/1/photos", files={"photo": ("face.jpg", b"MZ\x90\x00" * 100)})
    assert answer.status_code == 422
    assert pages.device.get("/api/jobs/1/photos").json() == []


def test_no_path_of_the_machine_is_ever_opened(pages: Bench) -> None:
    for address in (
        "/static/..%2f..%2fapp.py",
        "/static/%2e%2e/app.py",
        "/api/jobs/1/sheets/files/..%2f..%2f..%2fetc%2fpasswd",
        "/api/jobs/1/drawings/..%2fjob",
        "/jobs/1/..%2f..%2fetc",
    ):
        answer = pages.device.get(address)
        assert answer.status_code == 404, address
        assert "root:" not in answer.text


def test_a_fault_tells_no_trace(pages: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("secret place /home/maker")

    monkeypatch.setattr(pages.app.state.desk.store, "now", broken)
    for address in ("/jobs/1/brief", "/api/jobs/1/brief"):
        answer = pages.device.get(address)
        assert answer.status_code == 500
        assert "secret" not in answer.text
        assert "Traceback" not in answer.text
        assert answer.headers["content-security-policy"]
        if not address.startswith("/api/"):
            assert 'name="viewport"' in answer.text and 'href="/jobs"' in answer.text and "<h1>" in answer.text
            assert "<script" not in answer.text and "style=" not in answer.text


def test_what_the_gate_refuses_is_a_page_with_a_way_home_but_for_clients(pages: Bench) -> None:
    other = pages.device.get("/jobs", headers={"host": "<b>elsewhere</b>"})
    assert other.status_code == 403 and 'href="/jobs"' in other.text and "<b>" not in other.text
    client = pages.device.get("/client/x", headers={"host": "elsewhere"})
    assert client.status_code == 403 and "/jobs" not in client.text and "<h1>" in client.text


def test_a_cookie_that_was_changed_is_nobody(tmp_path: Path) -> None:
    sessions = Sessions(b"k" * 32)
    cookie = sessions.cookie(Session("id", True, "office"))
    assert sessions.read(cookie) == Session("id", True, "office")
    assert sessions.read(cookie[:-1] + ("A" if cookie[-1] != "A" else "B")) is None
    assert Sessions(b"j" * 32).read(cookie) is None


def test_the_passcode_is_kept_as_a_hash(tmp_path: Path) -> None:
    keeping = Keeping(tmp_path / "server")
    passcode = Passcode(keeping)
    assert not passcode.is_set
    assert not passcode.holds("")
    with pytest.raises(SlabwrightError):
        passcode.set("short")
    passcode.set("twelve oaks")
    kept = (tmp_path / "server" / "passcode.json").read_text()
    assert "twelve" not in kept
    assert "$argon2id$" in kept
    assert passcode.holds("twelve oaks")
    assert not passcode.holds("twelve oak")
    assert not passcode.holds("twelve-oaks")
    told = made_up()
    passcode.set(told)
    for typed in (told, told.replace("-", " "), told.replace("-", ""), told.upper(), f" {told} "):
        assert passcode.holds(typed), typed
    assert not passcode.holds(told[:-1])
    assert not passcode.holds(told.replace("-", "_"))
    assert (tmp_path / "server" / "key").stat().st_mode & 0o077 == 0
    assert (tmp_path / "server" / "passcode.json").stat().st_mode & 0o077 == 0
    assert len({made_up() for _ in range(50)}) == 50
