"""What is wrong with a job or shop file, in plain words: one line that names the place, the key and what would be right."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from slabwright.findings import SlabwrightError
from slabwright.job.fields import MisplacedError
from slabwright.job.places import Key, written

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

    from slabwright.quantities import Units

M = TypeVar("M", bound=BaseModel)


@dataclass(frozen=True)
class Trouble:
    """One thing that is wrong: its key, the line and what is wrong with what would be right."""

    key: Key
    line: int
    wrong: str
    missing: bool = False


def refusal(troubles: Sequence[Trouble], file: str) -> SlabwrightError:
    """The error for a file that cannot be used: the first trouble by line, and how many more there are.

    What is missing comes last: a key that was mistyped is the reason more often than not.
    """
    first = min(troubles, key=lambda trouble: (trouble.missing, trouble.line))
    place = f"{file}:{first.line}: {_on_one_line(written(first.key))}".rstrip(": ")
    more = f" (and {len(troubles) - 1} more)" if len(troubles) > 1 else ""
    return SlabwrightError(f"{place}: {_on_one_line(first.wrong)}{more}")


def validated(model: type[M], stated: Mapping[str, Any], lines: Mapping[Key, int], file: str, units: Units) -> M:
    """A model from what a file states.

    Args:
        model: the job file's or the shop file's model
        stated: what the file states
        lines: line of each key
        file: what messages call the file
        units: how plain numbers are read

    Raises:
        SlabwrightError: a key is unknown or missing, or a value cannot be used.
    """
    try:
        return model.model_validate(stated, context={"units": units})
    except ValidationError as error:
        found: dict[Key, Trouble] = {}
        for detail in error.errors(include_url=False):
            key = _key(stated, detail)
            found.setdefault(
                key, Trouble(key, _line(key, lines), _wrong(model, key, detail), detail["type"] == "missing")
            )
        raise refusal(list(found.values()), file) from None


def _on_one_line(text: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in text)


def _key(stated: object, detail: ErrorDetails) -> Key:
    """The key of an error: names of the validators on the way are left out."""
    key: list[str | int] = []
    here: Any = stated
    for part in detail["loc"]:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            if detail["type"] == "missing" and part == detail["loc"][-1]:
                key.append(part)
            continue
        key.append(part)
    error = detail.get("ctx", {}).get("error")
    return (*key, *error.key) if isinstance(error, MisplacedError) else tuple(key)


def _line(key: Key, lines: Mapping[Key, int]) -> int:
    """The line of a key, or of the table in which it is missing."""
    while key and key not in lines:
        key = key[:-1]
    return lines.get(key, 1)


def _models(annotation: Any) -> list[type[BaseModel]]:
    """The models within an annotation such as `list[Defect] | None`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for argument in get_args(annotation) for model in _models(argument)]


def _table_of(model: type[BaseModel], way: Key) -> type[BaseModel] | None:
    """The model of the table that holds a key; where tables differ by their `kind`, the way to the key names it."""
    candidates: list[type[BaseModel]] = [model]
    for part in way[:-1]:
        if isinstance(part, int):
            continue
        of_kind = [one for one in candidates if len(candidates) > 1 and part in _kinds_of(one)]
        if of_kind:
            candidates = of_kind
            continue
        field = candidates[0].model_fields.get(part) if candidates else None
        candidates = _models(field.annotation) if field else []
    return next(iter(candidates), None)


def _kinds_of(model: type[BaseModel]) -> tuple[Any, ...]:
    """The kinds that a table of this model may say."""
    kind = model.model_fields.get("kind")
    return get_args(kind.annotation) if kind else ()


def _unknown(model: type[BaseModel], way: Key) -> str:
    """What to say about a key that does not exist: the nearest one in its table, or the table where it belongs."""
    name = str(way[-1])
    table = _table_of(model, way)
    known = list(table.model_fields) if table else []
    near = difflib.get_close_matches(name.lower(), known, n=1, cutoff=0.6)
    if near:
        return f"there is no such key; did you mean `{near[0]}`?"
    here = ".".join(part for part in way[:-1] if isinstance(part, str))
    of_other_kind = [f"{path}.{kind}" for path in _tables_with(model, name) for kind in _kinds_of(table or model)]
    elsewhere = [] if here in of_other_kind else _tables_with(model, name)
    if elsewhere:
        return f"there is no such key here; {_belongs(model, name, elsewhere[0])}"
    return f"there is no such key; this table can have {', '.join(known)}" if known else "there is no such key"


def _belongs(model: type[BaseModel], name: str, table: str) -> str:
    if table:
        return f"it belongs in [{table}]"
    if not _models(model.model_fields[name].annotation):
        return "it belongs on the first lines, above all tables"
    return f"it is a table of its own: [{name}] on its own line"


def _tables_with(model: type[BaseModel], name: str, way: str = "") -> list[str]:
    """Tables that have a key of this name."""
    found = [way] if name in model.model_fields else []
    for key, field in model.model_fields.items():
        for inner in _models(field.annotation):
            found += _tables_with(inner, name, f"{way}.{key}".removeprefix("."))
    return found


def _wrong(model: type[BaseModel], key: Key, detail: ErrorDetails) -> str:
    """One error in plain words."""
    context = detail.get("ctx", {})
    kind = detail["type"]
    limits = {"greater_than": ("more than", "gt"), "greater_than_equal": ("at least", "ge")}
    limits |= {"less_than": ("less than", "lt"), "less_than_equal": ("at most", "le")}
    if kind == "extra_forbidden":
        return _unknown(model, detail["loc"])
    if kind == "missing":
        return _missing(model, detail["loc"])
    if kind.startswith("union_tag"):
        return _kind_wanted(context)
    if kind == "value_error":
        return str(context["error"])
    if kind == "literal_error":
        return f"must be {context['expected'].replace(chr(39), chr(34))}{_instead(detail)}"
    if kind in limits:
        words, limit = limits[kind]
        return f"must be {words} {context[limit]:g}{_instead(detail)}"
    if kind in ("too_short", "too_long"):
        least, most = context.get("min_length"), context.get("max_length")
        return f"has {context['actual_length']}, and must have {f'at least {least}' if least else f'at most {most}'}"
    if kind.startswith("string"):
        return _text(kind, context)
    plain = {
        "model_type": "must be a table: `[name]` on a line of its own, then its keys",
        "list_type": "must be a list in brackets, such as [1, 2]; a list of tables is written [[name]]",
        "tuple_type": "must be a point: [x, y]",
        "bool_type": "must be true or false, without quotes",
        "bool_parsing": "must be true or false, without quotes",
        "int_from_float": "must be a whole number",
        "finite_number": "must be a number that is not nan or infinity",
    }
    return plain.get(kind, f"{detail['msg'][:1].lower()}{detail['msg'][1:]}")


def _kind_wanted(context: Mapping[str, Any]) -> str:
    """What to say about a table whose `kind` is missing or unknown; without kinds in the context it is missing."""
    if "expected_tags" not in context:
        return "needs its `kind`: what it is; docs/job-file.md lists the kinds"
    kinds = str(context["expected_tags"]).replace("'", '"')
    near = difflib.get_close_matches(str(context.get("tag", "")), kinds.replace('"', "").split(", "), n=1, cutoff=0.6)
    meant = f'; did you mean "{near[0]}"?' if near else f"; kind must be one of {kinds}"
    return f'there is no kind "{str(context.get("tag", ""))[:40]}"{meant}'


def _instead(detail: ErrorDetails) -> str:
    value = detail["input"]
    if isinstance(value, str):
        return f'; it says "{value[:40]}"'
    return f"; it says {value}" if isinstance(value, int | float) and len(str(value)) < 30 else ""


def _text(kind: str, context: Mapping[str, Any]) -> str:
    if kind == "string_too_short":
        return "must not be empty"
    if kind == "string_too_long":
        return f"must have at most {context['max_length']} letters"
    if kind == "string_pattern_mismatch":
        return "must be three capital letters, such as EUR"
    return 'must be text in quotes, such as "this"'


def _missing(model: type[BaseModel], key: Key) -> str:
    table = _table_of(model, key)
    field = table.model_fields.get(str(key[-1])) if table else None
    what = f" ({field.description})" if field and field.description else ""
    if key[-1:] == (0,) or key[-1:] == (1,):
        return "is missing; a point is [x, y]"
    return (
        f"is missing{what}; add it"
        if field and not _models(field.annotation)
        else f"the table [{key[-1]}] is missing{what}; add it"
    )
