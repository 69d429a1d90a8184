"""The commands. Heavy parts are imported where a command uses them, so that `--help` answers at once."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any, Literal

import typer

from slabwright.book.commands import app as book_app

app = typer.Typer(
    name="slabwright",
    help="From the brief and the measured slab to the bench: tables of solid wood on welded steel.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

app.add_typer(book_app, name="book")

_UsageError: Any = typer.BadParameter.__bases__[0]
"""What the parser of the command line raises for words that are no command, option or value."""

JobPath = Annotated[Path, typer.Argument(metavar="JOB.toml", help="the job file")]
OutPath = Annotated[Path, typer.Option("--out", metavar="DIR", help="the folder to write to; made if there is none")]


@contextmanager
def _progress() -> Iterator[Callable[[str], None]]:
    """Tell each step on standard error, where somebody is looking."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return

    def told(step: str) -> None:
        sys.stderr.write(f"\r\x1b[2K{step}")
        sys.stderr.flush()

    told("Reading the job")
    try:
        yield told
    finally:
        told("")


def _planned(job_path: Path, progress: Callable[[str], None]) -> Any:
    from slabwright.job import load_job
    from slabwright.plan import plan

    return plan(load_job(job_path), progress, beside=True)


def _made_folder(out: Path) -> Path:
    from slabwright.findings import SlabwrightError

    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SlabwrightError(f"{out}: the folder cannot be made ({error.strerror}); name another with --out") from None
    return out


def _say(result: Any) -> None:
    """The board and the problems, on standard output."""
    from slabwright.spoken import spoken

    typer.echo(spoken(result))


def _version(asked: bool) -> None:
    if asked:
        from slabwright import __version__

        typer.echo(f"slabwright {__version__}")
        raise typer.Exit


@app.callback()
def _about(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="say the version")
    ] = False,
) -> None:
    """From the brief and the measured slab to the bench: tables of solid wood on welded steel."""


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="the job's folder, to be made")],
    title: Annotated[str | None, typer.Option(help="what the piece is called")] = None,
    length: Annotated[str | None, typer.Option(help="finished length: 2200, 2.2 m, 7' 6\"")] = None,
    width: Annotated[str | None, typer.Option(help="finished width, or 'live' where both long edges stay live")] = None,
    height: Annotated[str | None, typer.Option(help="finished height: 740, 29 1/2 in")] = None,
    species: Annotated[str | None, typer.Option(help="such as 'ash, white'")] = None,
    base: Annotated[str | None, typer.Option(help="U legs, closed loops, inverted U, four legs or trestles")] = None,
    finish: Annotated[str | None, typer.Option(help="in your own words")] = None,
    units: Annotated[str | None, typer.Option(help="metric or inch")] = None,
) -> None:
    """Start a job: six questions, answered here or as options, and a commented job file."""
    from slabwright.findings import SlabwrightError
    from slabwright.job.starter import QUESTIONS, Answers, write_starter
    from slabwright.quantities import QuantityError
    from slabwright.reference.wood import species as species_named

    given = {"length": length, "width": width, "height": height, "species": species, "base": base, "finish": finish}
    asks = sys.stdin.isatty() and sys.stdout.isatty()
    while asks and units not in ("metric", "inch"):
        units = typer.prompt("Metric or inch?", default="metric").strip().lower()
    if units not in ("metric", "inch"):
        if units is not None:
            raise SlabwrightError(f"--units {units!r}: write metric or inch")
        units = "metric"
    system: Literal["metric", "inch"] = "inch" if units == "inch" else "metric"
    if asks and title is None:
        title = typer.prompt("What is the piece called?", default=folder.name)
    parsed: dict[str, Any] = {}
    for question in QUESTIONS:
        typed = given[question.key]
        while True:
            if typed is None and asks:
                example = question.inch_example if system == "inch" else question.example
                choices = "".join(f"\n  {number} {name}" for number, name in enumerate(question.choices, 1))
                typed = typer.prompt(
                    f"{question.question} such as {example}{choices}\n", default="", show_default=False
                )
            if not typed or (question.key == "width" and "live" in typed.lower()):
                break
            try:
                parsed[question.key] = question.parse(typed, system)
                if question.key == "species":
                    parsed["species"] = species_named(typed).name
                break
            except (QuantityError, SlabwrightError) as error:
                if not asks:
                    raise SlabwrightError(f"--{question.key}: {error}") from None
                typer.echo(str(error))
                typed = None
    for path in write_starter(folder, Answers(title=title or folder.name, units=system, **parsed)):
        typer.echo(f"wrote {path}")
    typer.echo(f"next: slabwright read {folder / 'job.toml'}   (by hand), or name a survey file in it")


@app.command()
def check(job: JobPath) -> None:
    """Say what is missing and every problem."""
    from slabwright.job import load_job
    from slabwright.job.check import missing
    from slabwright.plan import plan

    with _progress() as progress:
        loaded = load_job(job)
        result = plan(loaded, progress)
    _say(result)
    lacking = missing(loaded)
    if lacking:
        typer.echo("\nStill to be stated:")
        for item in lacking:
            typer.echo(f"  {item.key}: {item.why}\n      {item.how}")


@app.command()
def plan(job: JobPath, out: OutPath = Path("plan")) -> None:
    """Work out the plan and write plan.json."""
    from slabwright.sheets.all_files import write_plan

    with _progress() as progress:
        result = _planned(job, progress)
        path = write_plan(result, _made_folder(out))
    _say(result)
    typer.echo(f"wrote {path}")


@app.command()
def sheets(job: JobPath, out: OutPath = Path("sheets")) -> None:
    """Write the plan and every sheet, drawing and program."""
    from slabwright.sheets.all_files import write_all

    with _progress() as progress:
        result = _planned(job, progress)
        paths = write_all(result, _made_folder(out), progress)
    _say(result)
    for path in paths:
        typer.echo(f"wrote {path}")


@app.command()
def why(job: JobPath, figure: Annotated[str, typer.Argument(metavar="FIGURE", help="its path in plan.json")]) -> None:
    """Tell where a figure comes from: slab.seat.thickness, slab.passes[0].depth, or a group such as slab.seat."""
    from slabwright.why import explain

    with _progress() as progress:
        result = _planned(job, progress)
    typer.echo(explain(result, figure))


@app.command()
def schema(which: Annotated[Literal["job", "shop"], typer.Argument(help="job or shop")] = "job") -> None:
    """Print the JSON Schema of the job file or the shop file."""
    import json

    from slabwright.job.schema import job_schema, shop_schema

    typer.echo(json.dumps(job_schema() if which == "job" else shop_schema(), indent=1, ensure_ascii=False))


@app.command()
def read(
    job: JobPath,
    along: Annotated[int, typer.Option(min=2, max=60, help="stations along the grain")] = 5,
    across: Annotated[int, typer.Option(min=2, max=40, help="stations across")] = 3,
    again: Annotated[bool, typer.Option("--again", help="forget the readings begun and start anew")] = False,
    after: Annotated[str | None, typer.Option(help="a re-reading after: 'rough A', 'rough B' or 'skim A'")] = None,
    check: Annotated[str | None, typer.Option(help="enter a check instead: 'A skim straightedge 0.4'")] = None,
) -> None:
    """Take readings by hand, one station at a time; stop when you like, it goes on from there."""
    from slabwright.findings import SlabwrightError
    from slabwright.reading import enter_check, read_by_hand

    if check is not None:
        enter_check(job, check)
        return
    if after not in (None, "rough A", "rough B", "skim A"):
        raise SlabwrightError(f"--after {after!r}: write 'rough A', 'rough B' or 'skim A'")
    read_by_hand(job, along=along, across=across, again=again, after=after)


@app.command()
def serve(
    port: Annotated[int, typer.Option(min=0, max=65_535, help="to listen on; 0: any that is free")] = 8400,
    book: Annotated[
        str | None, typer.Option(metavar="FILE-or-URL", help="the shop book; made if there is none")
    ] = None,
    lan: Annotated[bool, typer.Option("--lan", help="let other devices of the house in, with a passcode")] = False,
) -> None:
    """Open the bench pages in a browser: on this machine alone, or with --lan for the house."""
    from slabwright.web.serving import serve as serve_pages

    serve_pages(book, port, lan=lan, say=typer.echo)


def main() -> None:
    """Run a command; input that cannot be used ends in one line on standard error and status 2."""
    from slabwright.findings import SlabwrightError

    try:
        sys.exit(app(standalone_mode=False) or 0)
    except SlabwrightError as error:
        sys.stderr.write(f"slabwright: {' '.join(str(error).split())}\n")
        sys.exit(2)
    except (KeyboardInterrupt, typer.Abort):
        sys.stderr.write("\nstopped\n")
        sys.exit(130)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except _UsageError as error:
        if "Usage:" in error.format_message():  # no command at all: the whole help
            error.show()
            sys.exit(2)
        context = error.ctx.command_path if error.ctx else "slabwright"
        said = " ".join(error.format_message().split()).removesuffix(".")
        sys.stderr.write(f"slabwright: {said}; `{context} --help` tells what can be given\n")
        sys.exit(2)
    except OSError as error:
        name = error.filename2 or error.filename
        place = f"{name}: " if name else ""
        sys.stderr.write(f"slabwright: {place}cannot be read or written ({error.strerror}); free it, or name another\n")
        sys.exit(2)
