"""The shop book's commands as a person runs them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from bench.book import killed, written_by_two
from tests.book_places import KINDS, new_place
from tests.end_to_end.commands import EXAMPLES, JOB, names, put_job, run, run_apart

from slabwright.book import open_book

TABLE = EXAMPLES / "reading-table"


@pytest.fixture(autouse=True)
def _own_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv("SLABWRIGHT_BOOK", raising=False)
    monkeypatch.setenv("TZ", "UTC")
    yield


def contents(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize("kind", KINDS)
def test_a_job_through_the_book(kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = ("--book", new_place(kind, tmp_path))
    out = run(capsys, "book", "import", TABLE, "--who", "Ada", "--why", "first take", *book)
    assert (out.status, out.out, out.err) == (0, "job 1, revision 1: 6 files\n", "")
    listed = run(capsys, "book", "list", *book).out.splitlines()
    assert listed[0].split() == ["job", "title", "for", "revision", "saved", "by", "state"]
    assert listed[1].startswith("1    Reading table  Village library, Oberlauf  1 ") and listed[1].endswith("Ada  new")
    work = tmp_path / "work"
    assert run(capsys, "book", "export", 1, work, *book).status == 0
    assert contents(work) == contents(TABLE)
    changed = (work / "job.toml").read_text().replace('base = "U legs"', 'base = "trestles"')
    (work / "job.toml").write_text(changed)
    run(capsys, "plan", work / "job.toml", "--out", work / "plan")
    out = run(capsys, "book", "import", work, "--job", 1, "--based-on", 1, "--who", "Ben", *book)
    assert out.out == "job 1, revision 2: 6 files\nleft out plan/\n"
    second = run(capsys, "book", "import", TABLE, "--job", 1, "--based-on", 1, "--who", "Ada", *book).refused()
    assert "revision 2 is there by now; it is kept as draft 1" in second
    out = run(capsys, "book", "compare", 1, 1, 2, *book)
    assert out.out == 'job.toml: piece.base: "U legs" -> "trestles"\n'
    assert run(capsys, "book", "revert", 1, 1, "--who", "Ada", *book).out == "job 1, revision 3: as revision 1 was\n"
    assert "the same" in run(capsys, "book", "compare", 1, 1, 3, *book).out
    out = run(
        capsys,
        "book",
        "log",
        1,
        "weld",
        "done",
        "--minutes",
        42,
        "--at",
        "2026-11-25T14:30+00:00",
        "--who",
        "Ada",
        *book,
    )
    assert out.status == 0 and out.out.startswith("logged: 2026-11-25 ")
    assert "weld  done  42 min  Ada" in run(capsys, "book", "log", 1, *book).out
    shown = run(capsys, "book", "show", 1, *book).out
    for words in (
        "Reading table, for Village library, Oberlauf (in work)",
        "job.toml",
        "back to revision 1",
        "made from 1",
    ):
        assert words in shown
    assert run(capsys, "book", "export", 1, tmp_path / "draft", "--draft", 1, *book).status == 0
    assert contents(tmp_path / "draft") == contents(TABLE)
    copy = tmp_path / "copy.sqlite"
    backed = run(capsys, "book", "backup", copy, *book)
    assert backed.status == 0 and backed.out.startswith(f"wrote {copy}: ") and "1 job" in backed.out
    out = run(capsys, "book", "restore", copy, "--book", tmp_path / "again.sqlite")
    assert out.out == f"restored into {tmp_path / 'again.sqlite'}: 1 job, 4 revisions, 0 photos\n"
    assert run(capsys, "book", "export", 1, tmp_path / "back", "--book", tmp_path / "again.sqlite").status == 0
    back, table = contents(tmp_path / "back"), contents(TABLE)
    job, was = back.pop("job.toml"), table.pop("job.toml")
    assert back == table
    assert job.startswith(was)
    assert job.endswith(b"minutes = 42\n") and b'operation = "weld"\nevent = "done"\n' in job


def test_the_book_in_the_user_s_folder_in_processes_of_their_own(tmp_path: Path) -> None:
    put_job(tmp_path / "desk")
    assert "there is no book yet" in run_apart("book", "list").refused()
    assert names(tmp_path) == ["desk"], "looking makes none"
    made = run_apart("book", "import", tmp_path / "desk")
    assert (made.status, made.err, made.out) == (0, "", "job 1, revision 1: 2 files\n")
    assert names(tmp_path / "data" / "slabwright") == ["book.slabwright.sqlite"]
    assert "Board" in run_apart("book", "list").out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("import", "none"), "there is no such folder"),
        (("import", "."), "there is no job.toml in this folder"),
        (("import", "linked"), "a link that leads to no file within the job's folder"),
        (("import", "desk", "--job", "1"), "--based-on is missing: say which revision of job 1"),
        (("import", "desk", "--based-on", "1"), "--based-on goes with --job"),
        (("import", "desk", "--job", "7", "--based-on", "1"), "there is no job 7 in the book; its jobs are 1 to 1"),
        (("import", "desk", "--job", "1", "--based-on", "5"), "has no revision 5 to rest on; the newest is 1"),
        (("import", "desk", "--who", ""), "who is empty"),
        (("show", "2"), "there is no job 2"),
        (("show", "one"), "JOB"),
        (("export", "1", "desk"), "'desk' holds something already"),
        (("export", "1", "new", "--revision", "2"), "job 1 has no revision 2"),
        (("export", "1", "new", "--draft", "1"), "there is no draft 1"),
        (("compare", "1", "1", "2"), "job 1 has no revision 2; its revisions are 1 to 1"),
        (("revert", "1", "0"), "has no revision 0"),
        (("log", "1", "weld"), "what happened is missing"),
        (("log", "1", "weld", "finished"), "'finished' is no event: write one of started"),
        (("log", "1", "weld", "done", "--at", "noon"), "--at 'noon': write it like 2026-11-25T14:30"),
        (("log", "1", "weld", "done", "--minutes", "-1"), "the minutes -1"),
        (("backup", "desk"), "'desk' is there already"),
        (("restore", "words.txt"), "is no shop book"),
        (("restore", "none.sqlite"), "there is no such file"),
        (("list", "--book", "words.txt"), "'words.txt' is no shop book"),
        (("list", "--book", ""), "the book's name is empty"),
        (("list", "--book", "newer.sqlite"), "was written by a newer Slabwright"),
        (("lst",), "Did you mean 'list'?"),
    ],
)
def test_what_cannot_be_used_is_one_line_and_changes_nothing(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, ...],
    says: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    put_job(tmp_path / "desk")
    (tmp_path / "words.txt").write_text("not a book\n" * 100)
    (tmp_path / "secret").write_text("not yours")
    put_job(tmp_path / "linked")
    (tmp_path / "linked" / "outline.csv").symlink_to(tmp_path / "secret")
    with open_book("newer.sqlite") as book, book.store.writing() as connection:
        connection.exec_driver_sql("UPDATE book_version SET version_num = '0099'")
    monkeypatch.setenv("SLABWRIGHT_BOOK", "own.sqlite")
    run(capsys, "book", "import", "desk", "--who", "Ada")
    before = contents(tmp_path)
    assert says in run(capsys, "book", *words).refused()
    assert contents(tmp_path) == before


def test_a_job_from_the_book_plans_as_before(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = put_job(tmp_path / "desk", JOB + "# a remark\n")
    book = ("--book", tmp_path / "book.sqlite")
    run(capsys, "book", "import", tmp_path / "desk", *book)
    run(capsys, "book", "export", 1, tmp_path / "again", *book)
    for folder in (job.parent, tmp_path / "again"):
        assert run(capsys, "plan", folder / "job.toml", "--out", folder / "plan").status == 0
    one, other = (
        json.loads((folder / "plan" / "plan.json").read_text()) for folder in (job.parent, tmp_path / "again")
    )
    assert one == other


def test_killed_while_it_saves_nothing_that_was_acknowledged_is_lost(tmp_path: Path) -> None:
    found = killed(new_place("sqlite", tmp_path), 20)
    assert (found.lost, found.damaged) == (0, 0)
    assert found.acknowledged >= 15, "the writers did save"
    assert found.acknowledged + 1 <= found.there <= found.acknowledged + 1 + found.kills


@pytest.mark.parametrize("kind", KINDS)
def test_two_processes_that_write_one_job_at_once_lose_nothing(kind: str, tmp_path: Path) -> None:
    found = written_by_two(new_place(kind, tmp_path), 200)
    assert (found.accepted, found.lost, found.gaps) == (200, 0, 0)


def test_another_piece_like_one_of_the_book(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = ("--book", tmp_path / "book.sqlite")
    assert run(capsys, "book", "import", TABLE, *book).status == 0
    made = run(capsys, "book", "another", 1, "--title", "Second table", "--species", "oak, white", *book)
    assert (made.status, made.err) == (0, "")
    assert made.out.startswith("job 2, revision 1: another like job 1\nkept: ")
    assert "the slab to look for: oak, white, " in made.out
    assert run(capsys, "book", "export", 2, tmp_path / "second", *book).status == 0
    names = {path.name for path in (tmp_path / "second").iterdir()}
    assert names == {"job.toml", "shop.toml", "hours.csv"}
    assert run(capsys, "plan", tmp_path / "second" / "job.toml", "--out", tmp_path / "plan").status == 0
    told = run(capsys, "book", "another", 9, "--title", "None", *book).refused()
    assert "9" in told
