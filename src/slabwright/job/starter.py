"""A new job from six answers: the questions as data, and the starter files with a remark on every line."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel

from slabwright.findings import SlabwrightError
from slabwright.job.load import SHOP_FILE, general_shop_file, job_from, shop_from, toml_from
from slabwright.job.models import Piece, ShopFile
from slabwright.job.paths import shown
from slabwright.job.shop_models import INCH_SHIMS
from slabwright.quantities import QuantityError, Units, parse_length
from slabwright.written import written_beside

JOB_FILE = "job.toml"
BASES: tuple[str, ...] = tuple(
    name for option in get_args(Piece.model_fields["base"].annotation) for name in get_args(option)
)
"""The bases that there are pictures of."""


@dataclass(frozen=True)
class Answers:
    """What the maker knows when a job begins; None where it is still open.

    Attributes:
        title: what the piece is called
        units: how plain numbers are meant
        length: finished length, as it was typed
        width: finished width, as it was typed
        height: finished height, as it was typed
        species: the wood, as the reference table names it
        base: one of `BASES`
        finish: in the maker's words
    """

    title: str
    units: Units = "metric"
    length: str | float | None = None
    width: str | float | None = None
    height: str | float | None = None
    species: str | None = None
    base: str | None = None
    finish: str | None = None


def length_answer(text: str, units: Units) -> str | float:
    """A length as it is to stand in the job file: a plain number stays one, anything else keeps its unit.

    Raises:
        QuantityError: it is no length above zero.
    """
    if parse_length(text, "in" if units == "inch" else "mm") <= 0:
        raise QuantityError(f"{shown(text)} is not more than nothing; write a length such as 1200, 1.2 m or 7' 6 1/2\"")
    typed = " ".join(text.split())
    if re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", typed):
        return float(typed) if "." in typed else int(typed)
    # Inch marks want a backslash in a file; feet and inches are written as one: 6ft 6in.
    feet = re.fullmatch(r"([0-9]+)\s*(?:['′’]|ft\.?)\s*([0-9][0-9 ./]*?)\s*(?:[\"″”]|''|in\.?)?", typed)
    if feet is not None:
        return f"{feet[1]}ft {feet[2]}in"
    return re.sub(r"\s*(?:[\"″”]|'')$", " in", typed)


def base_answer(text: str, units: Units) -> str:
    """The base that a name, the beginning of one, or its number in the list stands for.

    Raises:
        QuantityError: it is none of them, or more than one.
    """
    del units
    typed = " ".join(text.lower().split())
    if typed.isascii() and typed.isdigit() and 1 <= int(typed[:4]) <= len(BASES):
        return BASES[int(typed[:4]) - 1]
    exact = [base for base in BASES if base.lower() == typed]
    near = exact or [base for base in BASES if typed and base.lower().startswith(typed)]
    if len(near) != 1:
        listed = ", ".join(f"{number} {base}" for number, base in enumerate(BASES, 1))
        raise QuantityError(f"{shown(text)} is none of the pictures; choose {listed}")
    return near[0]


def words_answer(text: str, units: Units) -> str:
    """Words, on one line.

    Raises:
        QuantityError: there are none, or far too many.
    """
    del units
    words = " ".join(text.split())
    if not words or len(words) > 200 or not words.isprintable():
        raise QuantityError(f"{shown(text)}: write a few words on one line")
    return words


@dataclass(frozen=True)
class Question:
    """One of the six questions.

    Attributes:
        key: the field of `Answers`
        question: in plain words
        example: an answer in a metric job
        inch_example: an answer in an inch job
        parse: turns what was typed into what stands in the job file; raises QuantityError with what would be right
        choices: what can be chosen, if not anything
    """

    key: str
    question: str
    example: str
    inch_example: str
    parse: Callable[[str, Units], str | float]
    choices: tuple[str, ...] = ()


QUESTIONS: tuple[Question, ...] = (
    Question("length", "How long is the finished top, along the grain?", "2200", "7' 6\"", length_answer),
    Question(
        "width", "How wide? (leave empty where both long edges keep their natural shape)", "900", '36"', length_answer
    ),
    Question("height", "How high is the top above the floor?", "740", '29 1/2"', length_answer),
    Question("species", "Which wood?", "ash, white", "ash, white", words_answer),
    Question("base", "Which base?", "U legs", "U legs", base_answer, BASES),
    Question("finish", "What is the wood finished with?", "hard-wax oil", "hard-wax oil", words_answer),
)
"""The six questions, in order; an empty answer leaves a thing open."""


def _toml(value: object) -> str:
    """A value as TOML writes it on one line; lengths without trailing zeros."""
    import tomlkit

    if isinstance(value, float) and math.isfinite(value):
        return f"{value:g}" if abs(value) < 1e6 else repr(value)
    if isinstance(value, list):
        return f"[{', '.join(_toml(item) for item in value)}]"
    return str(tomlkit.item(value).as_string())


def _line(key: str, value: object, remark: str, *, instead: str = "") -> str:
    """A key with its value and a remark; shown as a remark where it is still open."""
    text = f"{key} = {_toml(value)}" if value is not None else f"# {key} = {instead}"
    return f"{text:<32}  # {remark}" if remark else text


def starter(answers: Answers) -> str:
    """The text of a new job file: what was answered, and what can come, each with a remark.

    Args:
        answers: the six answers, as they were typed
    """
    inch = answers.units == "inch"
    plain = "inches" if inch else "millimetres"
    text = " ".join(answers.title.split())
    lines = [
        f"# Write what you know; what is left out stays open: `slabwright check {JOB_FILE}` tells what is missing.",
        f'# Plain numbers are {plain}; "1.2 m", "47 1/2 in", "7ft 6in" and "8/4" are read as they stand.',
        "# Take the # from a line to state what it shows. docs/job-file.md tells every key: [top] and its features, [[clamps]].",
        "",
        "[job]",
        _line("title", text, ""),
        _line("units", answers.units, "metric or inch"),
        _line("client", None, "for whom", instead='"..."'),
        _line("currency", None, "three letters; EUR if left out", instead='"EUR"'),
        _line("date", None, "of this revision, as it is to be printed", instead='"..."'),
        "",
        "[piece]",
        _line("length", answers.length, "finished, along the grain", instead='"7ft 6in"' if inch else "2200"),
        _line(
            "width",
            answers.width,
            "finished; not needed where both long edges stay live",
            instead="36" if inch else "900",
        ),
        _line("height", answers.height, "above the floor", instead="29.5" if inch else "740"),
        _line("thickness", "max", f"the most that the slab gives; or a thickness, such as {'1.75' if inch else '45'}"),
        # The question says to leave the width open where the long edges stay live: one that is answered is cut straight.
        _line(
            "live_edges",
            "both" if answers.width is None else "none",
            "both long edges keep their natural shape; or none",
        ),
        _line("base", answers.base, ", ".join(BASES), instead='"U legs"'),
        _line("finish", answers.finish, "in your words", instead='"..."'),
        "",
        "# Where it will stand tells how dry the slab must be.",
        "# [room]",
        '# kind = "heated house"           # heated house, air-conditioned, church',
        "",
        *_slab_lines(answers.species, inch),
        "",
        "# Dips may be filled only at a price, and once the client agrees.",
        "# [fill]",
        "# price_per_litre = ...            # of fill in place",
        "# price_per_visible_area = ...     # a square metre of fill that is seen",
        "# client_agrees = true",
    ]
    return "\n".join(lines) + "\n"


def _slab_lines(species: str | None, inch: bool) -> Iterator[str]:
    mark = "" if species else "# "
    yield f"{mark}[slab]"
    yield _line("species", species, "the wood, as the reference table names it", instead='"ash, white"')
    yield _line("show_face", None, "the face that will be seen: A, B, or either", instead='"A"')
    yield "# Readings by hand: `slabwright read job.toml`. Or name files that lie in this folder:"
    yield _line("survey", None, "header face,x,y,z; both faces in one frame", instead='"survey.csv"')
    yield _line("survey_units", None, "mm, cm, m, in or ft", instead='"in"' if inch else '"mm"')
    yield _line("outline", None, "header x,y; without it the outermost readings are joined", instead='"outline.csv"')
    yield _line("edge_margin", None, "left out along a live edge", instead='"3/8 in"' if inch else "10")
    yield _line("end_trim", None, "cut off each end", instead='"1 in"' if inch else "25")
    yield ""
    yield "# Until there is a slab: the rough size as sold, to plan with."
    yield "# [slab.planned]"
    yield f"# length = {'96' if inch else '2400'}"
    yield f"# width = {'38' if inch else '950'}"
    yield '# thickness = "10/4"'
    yield ""
    yield "# Meter readings, % moisture content."
    yield "# [slab.moisture]"
    yield "# shell = [...]                    # near the surface"
    yield "# core = [...]                     # at half the thickness"
    yield "# days_in_shop = ..."
    yield ""
    yield "# How it lay when it was read: x of the bearers under it."
    yield "# [slab.lay]"
    yield "# supports = [...]"


def shop_starter(units: Units = "metric") -> str:
    """The text of a new shop file: every key with what holds if it is left out, as a remark."""
    lines = [
        "# The shop's own figures, stated once. Each line shows what is taken as long as it is left out; take the # away and",
        "# write your own. To use one shop file for every job, move it to slabwright/shop.toml in your config folder.",
        "",
        _line("units", units, "how plain numbers in this file are read: metric (mm) or inch"),
    ]
    for table, field in ShopFile.model_fields.items():
        model = field.annotation
        if isinstance(model, type) and issubclass(model, BaseModel):
            lines += ["", f"[{table}]{' ' * max(1, 32 - len(table))}# {field.description}"]
            lines += [_default_line(key, inner, units) for key, inner in model.model_fields.items()]
    return "\n".join(lines) + "\n"


def _default_line(key: str, field: Any, units: Units) -> str:
    published = [str(getattr(item, "json_schema", "")) for item in field.metadata]
    is_mass = any("Mass" in name for name in published)
    is_length = key == "thicknesses" or (any(name not in ("", "None") for name in published) and not is_mass)
    value = field.get_default(call_default_factory=True)
    if key == "thicknesses" and units == "inch":
        value = list(INCH_SHIMS)
    elif is_mass and units == "inch" and value is not None:
        value = f"{value:g} kg"
    elif is_length and units == "inch" and value is not None:
        value = [f"{item:g} mm" for item in value] if isinstance(value, list) else f"{value:g} mm"
    return _line(key, None, field.description or "", instead="..." if value is None else _toml(value))


def write_starter(folder: Path | str, answers: Answers) -> tuple[Path, ...]:
    """Make a job's folder with a job file, and a shop file unless there is one already, beside it or in the config folder.

    Args:
        folder: made if it is not there; what lies in it is left alone
        answers: the six answers

    Returns:
        The files that were written.

    Raises:
        SlabwrightError: there is a job file already, an answer cannot be used, or the folder cannot be made.
    """
    home = Path(folder)
    text, shop_text = starter(answers), shop_starter(answers.units)
    job_from(toml_from(text.encode(), JOB_FILE))
    shop_from(toml_from(shop_text.encode(), SHOP_FILE), answers.units)
    job, shop = home / JOB_FILE, home / SHOP_FILE
    try:
        if job.exists() or job.is_symlink():
            raise SlabwrightError(f"{job} is there already and stays as it is; name another folder")
        home.mkdir(parents=True, exist_ok=True)
        wants_shop = not (shop.exists() or shop.is_symlink() or general_shop_file().exists())
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be used"
        raise SlabwrightError(f"{shown(str(home), 100)}: the folder cannot be made ({reason}); name another") from error
    written_beside(job, text.encode())
    if not wants_shop:
        return (job,)
    written_beside(shop, shop_text.encode())
    return (job, shop)
