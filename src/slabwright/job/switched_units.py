"""A job whose plain numbers are to be read in other units: what is stated stays what it is, written with its unit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.job.load import SHOP_FILE, job_from, shop_from, toml_from
from slabwright.job.schema import job_schema
from slabwright.job.write import with_values
from slabwright.quantities import QuantityError, Units, parse_length, parse_mass

_PLAIN = {"metric": {"Length": "mm", "Mass": "kg"}, "inch": {"Length": "in", "Mass": "lb"}}
_TOLERANCE = 1e-9


def switched(files: Mapping[str, bytes], units: Units) -> dict[str, bytes]:
    """The files of a job with its units changed and every length and weight that it states left as long and as heavy.

    Plain numbers get the unit that they had, such as `2200` of a metric job `"2200 mm"`; the units of its files of readings, and
    of its shop file, are stated where they were not.

    Args:
        files: of a job that can be used
        units: that plain numbers are to be read in from now on

    Raises:
        SlabwrightError: the job cannot be used, or something would be read as another size.
    """
    source = toml_from(files[JOB_FILE], JOB_FILE)
    before = job_from(source)
    was: Units = before.job.units
    changed = dict(files)
    if was == units:
        return changed
    values: dict[str, Any] = {"job.units": units}
    values |= dict(_told(source.stated, job_schema(), "", was))
    slab = before.slab
    if (
        slab is not None
        and slab.survey_units is None
        and (slab.survey or slab.survey_a or slab.outline or slab.outline_a)
    ):
        values["slab.survey_units"] = _PLAIN[was]["Length"]
    text = with_values(files[JOB_FILE].decode("utf-8-sig"), values)
    after = job_from(toml_from(text.encode(), JOB_FILE))
    _same(before.model_dump(exclude_unset=True), after.model_dump(exclude_unset=True), "")
    changed[JOB_FILE] = text.encode()
    if SHOP_FILE in files:
        shop = toml_from(files[SHOP_FILE], SHOP_FILE)
        if shop.stated and "units" not in shop.stated:
            told = with_values(files[SHOP_FILE].decode("utf-8-sig"), {"units": was}, SHOP_FILE)
            shop_from(toml_from(told.encode(), SHOP_FILE), units)
            changed[SHOP_FILE] = told.encode()
    return changed


def _told(stated: Mapping[str, Any], table: Mapping[str, Any], above: str, was: Units) -> Iterator[tuple[str, Any]]:
    """Keys whose values are plain, each with the value and its unit."""
    for name, value in stated.items():
        key = f"{above}.{name}" if above else name
        part = table.get("properties", {}).get(name, {})
        tables = list(_tables(part))
        if isinstance(value, dict):
            yield from _told(value, _table_of(tables, value), key, was)
        elif isinstance(value, list) and value and all(isinstance(row, dict) for row in value):
            for number, row in enumerate(value):
                yield from _told(row, _table_of(tables, row), f"{key}[{number}]", was)
        else:
            kind = _kind(part)
            told = _with_unit(value, kind, was) if kind else value
            if told != value:
                yield key, told


def _with_unit(value: Any, kind: str, was: Units) -> Any:
    """A value, or a list of values, with the unit that a plain one has."""
    if isinstance(value, list):
        return [_with_unit(one, kind, was) for one in value]
    unit = _PLAIN[was][kind]
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value!r} {unit}"
    if isinstance(value, str) and _differs(value, kind):
        return f"{value.strip()} {unit}"
    return value


def _differs(value: str, kind: str) -> bool:
    """Whether a text is another size in the other units, so that it says none itself."""
    read = parse_length if kind == "Length" else parse_mass
    sizes = []
    for units in ("metric", "inch"):
        try:
            sizes.append(read(value, _PLAIN[units][kind]))
        except QuantityError:
            sizes.append(float("nan"))
    return sizes[0] != sizes[1] and not (sizes[0] != sizes[0] and sizes[1] != sizes[1])


def _refs(part: Mapping[str, Any]) -> Iterator[str]:
    """Names of what a key may hold: itself, one of several, or of each of a list."""
    if "$ref" in part:
        yield str(part["$ref"]).removeprefix("#/$defs/")
    for inner in (*part.get("anyOf", []), *part.get("oneOf", []), *part.get("prefixItems", [])):
        yield from _refs(inner)
    if isinstance(part.get("items"), dict):
        yield from _refs(part["items"])


def _kind(part: Mapping[str, Any]) -> str:
    """Whether a key holds lengths or weights; empty: neither."""
    names = list(_refs(part))
    return next((kind for kind in ("Length", "Mass") if any(name.startswith(kind) for name in names)), "")


@cache
def _definitions() -> dict[str, Any]:
    return dict(job_schema()["$defs"])


def _tables(part: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    for name in _refs(part):
        found = _definitions().get(name, {})
        if "properties" in found:
            yield found


def _table_of(tables: list[Mapping[str, Any]], row: Mapping[str, Any]) -> Mapping[str, Any]:
    """The table of several that a row is of, by its kind."""
    for table in tables:
        kind = table["properties"].get("kind", {})
        if row.get("kind") in (*kind.get("enum", []), kind.get("const")):
            return table
    return tables[0] if tables else {}


def _same(before: Any, after: Any, key: str) -> None:
    """See that all that was stated is as it was; what is there by now beside it says its unit."""
    if isinstance(before, dict) and isinstance(after, dict):
        for name, value in before.items():
            if (key, name) != ("job", "units"):
                _same(value, after.get(name), f"{key}.{name}" if key else name)
    elif isinstance(before, list | tuple) and isinstance(after, list | tuple) and len(before) == len(after):
        for number, (one, other) in enumerate(zip(before, after, strict=True)):
            _same(one, other, f"{key}[{number}]")
    elif isinstance(before, float) and isinstance(after, float):
        if abs(before - after) > _TOLERANCE * max(1.0, abs(before)):
            raise SlabwrightError(f"{key}: would be another size in the other units; state it with its unit first")
    elif before != after:
        raise SlabwrightError(f"{key}: would be read otherwise in the other units; change it by hand first")
