"""The commands of the shop book; heavy parts are imported where a command uses them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, get_args

import typer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slabwright.book.book import Book
    from slabwright.book.rows import Event

app = typer.Typer(
    help="The shop book: every job with every revision, its log, sign-offs and drafts; backups.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

Place = Annotated[
    str | None,
    typer.Option(
        "--book",
        metavar="FILE-or-URL",
        help="the book; else what SLABWRIGHT_BOOK names, else book.slabwright.sqlite in the user's data folder",
    ),
]
JobId = Annotated[int, typer.Argument(metavar="JOB", help="the job's number in the book")]
Who = Annotated[str | None, typer.Option(help="who does it; else the name you are logged in with")]
Why = Annotated[str, typer.Option(help="why, in a few words")]
_SHOWN = 60
"""Letters of a value that a line shows."""


@contextmanager
def _opened(place: str | None, *, make: bool = False) -> Iterator[Book]:
    """The book; a command that only looks makes none."""
    from slabwright.book.opening import file_of, open_book
    from slabwright.findings import SlabwrightError

    file = file_of(place)
    if not make and file is not None and not file.exists():
        raise SlabwrightError(
            f"{file}: there is no book yet; `slabwright book import DIR` makes one, or name another with --book"
        )
    with open_book(place) as book:
        yield book


def _name(who: str | None) -> str:
    """Who does it."""
    if who is not None:
        return who
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        from slabwright.findings import SlabwrightError

        raise SlabwrightError("--who: nobody is logged in; say who does it") from None


def _when(at: datetime) -> str:
    return at.astimezone().strftime("%Y-%m-%d %H:%M")


def _short(text: str, most: int = _SHOWN) -> str:
    """One line of at most so many letters."""
    line = "".join(c if c.isprintable() else " " for c in text)
    return line if len(line) <= most else line[: most - 1] + "…"


def _table(rows: Iterable[Sequence[str]]) -> None:
    """Rows in columns."""
    lines = [[_short(cell) for cell in row] for row in rows]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    for line in lines:
        typer.echo("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip())


@app.command("list")
def list_jobs(book: Place = None) -> None:
    """List the jobs."""
    with _opened(book) as opened:
        jobs = opened.jobs()
    if not jobs:
        typer.echo("no job yet; `slabwright book import DIR` adds one")
        return
    rows = [("job", "title", "for", "revision", "saved", "by", "state")]
    rows += [
        (str(job.id), job.title, job.client, str(job.revision), _when(job.when), job.who, job.state) for job in jobs
    ]
    _table(rows)


@app.command()
def show(
    job: JobId,
    revision: Annotated[int | None, typer.Option(help="which revision's files; else the newest")] = None,
    book: Place = None,
) -> None:
    """Show a job: its files, revisions, drafts, sign-offs and photos."""
    with _opened(book) as opened:
        row, kept, revisions = opened.job(job), opened.revision(job, revision), opened.revisions(job)
        drafts, signed, photos = opened.drafts(job), opened.sign_offs(job), opened.photos(job)
    typer.echo(f"{job}: {_short(row.title)}{f', for {_short(row.client)}' if row.client else ''} ({row.state})")
    typer.echo(f"\nfiles of revision {kept.number}")
    _table((f"  {name}", f"{len(data)} bytes") for name, data in kept.files.items())
    typer.echo("\nrevisions")
    _table((f"  {one.number}", _when(one.when), one.who, one.why) for one in revisions)
    if drafts:
        typer.echo("\ndrafts that wait: compare, then import what is right on the newest revision")
        _table((f"  {one.id}", _when(one.when), one.who, f"made from {one.based_on}", one.why) for one in drafts)
    if signed:
        typer.echo("\nsign-offs")
        _table(
            (f"  {one.what}", f"revision {one.revision}", one.verdict, one.name, _when(one.at), one.words)
            for one in signed
        )
    if photos:
        typer.echo("\nphotos")
        _table((f"  {one.name}", f"{one.width} x {one.height}", _when(one.when), one.note) for one in photos)


@app.command("import")
def import_folder(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="the job's folder, with its job.toml")],
    job: Annotated[int | None, typer.Option(help="a job that is in the book: this is its next revision")] = None,
    based_on: Annotated[int | None, typer.Option(help="with --job: the revision that the folder was made from")] = None,
    who: Who = None,
    why: Why = "",
    book: Place = None,
) -> None:
    """Put a job's folder into the book: as a new job, or as the next revision of one."""
    from slabwright.findings import SlabwrightError
    from slabwright.job.folder import read_folder

    read = read_folder(folder)
    if job is None and based_on is not None:
        raise SlabwrightError("--based-on goes with --job: say which job this is a revision of")
    with _opened(book, make=job is None) as opened:
        if job is None:
            saved = opened.add(read.files, _name(who), why)
        elif based_on is None:
            newest = opened.job(job).revision
            raise SlabwrightError(
                f"--based-on is missing: say which revision of job {job} this folder was made from; the newest is {newest}"
            )
        else:
            saved = opened.save(job, read.files, based_on, _name(who), why)
    count = len(read.files)
    typer.echo(f"job {saved.job}, revision {saved.number}: {count} {'file' if count == 1 else 'files'}")
    for name in read.left_out:
        typer.echo(f"left out {_short(name)}")


@app.command()
def export(
    job: JobId,
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="to be made, or empty")],
    revision: Annotated[int | None, typer.Option(help="which one; else the newest")] = None,
    draft: Annotated[int | None, typer.Option(help="a draft of this job instead")] = None,
    book: Place = None,
) -> None:
    """Write a job's folder as it was saved, byte for byte."""
    from slabwright.findings import SlabwrightError
    from slabwright.job.folder import write_folder

    with _opened(book) as opened:
        if draft is None:
            kept = opened.revision(job, revision)
            files, what = kept.files, f"revision {kept.number}"
        else:
            opened.job(job)
            found = opened.draft(draft)
            if found.job != job or revision is not None:
                raise SlabwrightError(f"--draft: draft {draft} belongs to job {found.job}; give it alone, for that job")
            files, what = found.files, f"draft {draft}, made from revision {found.based_on}"
    write_folder(folder, files)
    count = len(files)
    typer.echo(f"wrote {folder}: job {job}, {what}, {count} {'file' if count == 1 else 'files'}")


@app.command()
def compare(
    job: JobId,
    old: Annotated[int, typer.Argument(metavar="A", help="a revision")],
    new: Annotated[int, typer.Argument(metavar="B", help="another")],
    book: Place = None,
) -> None:
    """Say what differs between two revisions, key by key."""
    with _opened(book) as opened:
        changes = opened.compare(job, old, new)
    if not changes:
        typer.echo(f"revisions {old} and {new} are the same")
    for change in changes:
        what = f"{change.file}: {change.key}" if change.key else change.file
        if change.old == change.new:
            typer.echo(f"{_short(what, 100)}: {change.new}")
        elif change.old is None:
            typer.echo(f"{_short(what, 100)}: new: {_short(change.new or '')}")
        elif change.new is None:
            typer.echo(f"{_short(what, 100)}: gone: {_short(change.old)}")
        else:
            typer.echo(f"{_short(what, 100)}: {_short(change.old)} -> {_short(change.new)}")


@app.command()
def revert(
    job: JobId,
    revision: Annotated[int, typer.Argument(metavar="REVISION", help="the one to go back to")],
    who: Who = None,
    why: Why = "",
    as_it_was: Annotated[
        bool, typer.Option("--as-it-was", help="leave out what happened since: log, deliveries, checks, as made")
    ] = False,
    book: Place = None,
) -> None:
    """Go back to an earlier revision: what it stated is saved once more as the newest; what happened since stays."""
    with _opened(book) as opened:
        old = opened.revision(job, revision).files
        saved = opened.restore(job, revision, _name(who), why, as_it_was=as_it_was)
    stays = "" if dict(saved.files) == dict(old) else "; what happened since stays"
    typer.echo(f"job {job}, revision {saved.number}: as revision {revision} was{stays}")


@app.command()
def another(
    job: JobId,
    title: Annotated[str, typer.Option(help="what the new piece is called")],
    species: Annotated[str | None, typer.Option(help="of the new slab; left out: the same")] = None,
    who: Who = None,
    book: Place = None,
) -> None:
    """Begin another piece like a job of the book: jigs, steel, features and hours stay, the slab is a new one."""
    from tempfile import TemporaryDirectory

    from slabwright.job.folder import JOB_FILE, write_folder
    from slabwright.job.load import SHOP_FILE, load_job
    from slabwright.shop.variation_another import another_like_this

    with _opened(book) as opened:
        old = opened.revision(job)
        with TemporaryDirectory() as made_for:
            loaded = load_job(write_folder(Path(made_for) / "job", old.files) / JOB_FILE)
        made = another_like_this(loaded, old.files[JOB_FILE].decode("utf-8-sig"), title, species=species)
        hours = loaded.shop.history.file
        stays = {name: data for name, data in old.files.items() if name in (SHOP_FILE, hours)}
        saved = opened.add({JOB_FILE: made.text.encode(), **stays}, _name(who), f"another like job {job}")
    typer.echo(f"job {saved.job}, revision {saved.number}: another like job {job}")
    typer.echo(f"kept: {'; '.join(made.kept)}")
    typer.echo(f"the slab to look for: {made.slab}")


@app.command("log")
def log_job(
    job: JobId,
    operation: Annotated[str | None, typer.Argument(help="what was worked on; 'job' for the whole job")] = None,
    event: Annotated[str | None, typer.Argument(help="started, stopped, done, delayed, failed or approved")] = None,
    minutes: Annotated[float | None, typer.Option(help="attended minutes that it took")] = None,
    at: Annotated[str | None, typer.Option(help="when: 2026-11-25T14:30; else now")] = None,
    note: Annotated[str, typer.Option(help="in your own words")] = "",
    who: Who = None,
    book: Place = None,
) -> None:
    """Show the log of a job; with an operation and an event, add a line to it, and to the job's file: the plan follows."""
    from slabwright.book.working_log import log_work
    from slabwright.findings import SlabwrightError

    if operation is None:
        with _opened(book) as opened:
            entries = opened.entries(job)
        if not entries:
            typer.echo("nothing is logged yet")
            return
        _table(
            (
                _when(entry.at),
                entry.operation,
                entry.event,
                "" if entry.minutes is None else f"{entry.minutes:g} min",
                entry.who,
                entry.note,
            )
            for entry in entries
        )
        return
    if event is None:
        raise SlabwrightError(f"what happened is missing: slabwright book log {job} '{_short(operation)}' done")
    with _opened(book) as opened:
        entry = log_work(opened, job, operation, _event(event), _moment(at), _name(who), minutes, note)
    typer.echo(f"logged: {_when(entry.at)}  {entry.operation}  {entry.event}")


def _event(word: str) -> Event:
    from slabwright.book.rows import Event
    from slabwright.findings import SlabwrightError

    events: Mapping[str, Any] = {event: event for event in get_args(Event)}
    if word not in events:
        raise SlabwrightError(f"{_short(word)!r} is no event: write one of {', '.join(events)}")
    chosen: Event = events[word]
    return chosen


def _moment(at: str | None) -> datetime | None:
    """A moment as it was typed; without a zone it is the machine's."""
    if at is None:
        return None
    from slabwright.findings import SlabwrightError

    try:
        return datetime.fromisoformat(at.strip()).astimezone()
    except (ValueError, OverflowError, OSError):
        raise SlabwrightError(f"--at {_short(at)!r}: write it like 2026-11-25T14:30") from None


@app.command()
def backup(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="to be made")],
    book: Place = None,
) -> None:
    """Copy the book into a file while others go on with it, and check the copy from end to end."""
    with _opened(book) as opened:
        opened.backup(file)
        name, jobs = opened.name, len(opened.jobs())
    size = file.stat().st_size
    typer.echo(f"wrote {file}: {name}, {jobs} {'job' if jobs == 1 else 'jobs'}, {size / 1e6:.1f} MB, checked")


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="a backup; it stays as it is")],
    book: Place = None,
) -> None:
    """Bring a backup back into a book that is new or holds nothing."""
    from slabwright.book.backups import restore_book
    from slabwright.book.opening import told

    held = restore_book(file, book)
    counts = ", ".join(f"{count} {name if count != 1 else name[:-1]}" for name, count in held.items())
    typer.echo(f"restored into {told(book)}: {counts}")
