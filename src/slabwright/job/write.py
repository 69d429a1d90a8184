"""Change values in a maker's own file: comments, order and everything else stay as they were typed."""

from __future__ import annotations

import copy
import itertools
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from slabwright.findings import SlabwrightError
from slabwright.job.load import job_from, read_bytes, shop_from, stated_in, toml_from
from slabwright.job.places import Header, Key, headers
from slabwright.written import written_beside

_PATH = re.compile(r"[A-Za-z0-9_-]+(?:\.[A-Za-z0-9_-]+|\[[0-9]{1,6}\])*")


def set_values(path: Path | str, values: Mapping[str, object], *, shop: bool = False) -> None:
    """Set, add or remove keys of a job file, or of a shop file.

    The file is written whole, beside the old one, and takes its place only once it has been checked like any other.

    Args:
        path: the file
        values: value for each key (`slab.moisture.core`, `slab.defects[0].depth`), as it would be typed: numbers in the file's
            units, or texts with units; mappings for tables; None removes the key; the number after a list's last one adds to it
        shop: whether it is a shop file

    Raises:
        SlabwrightError: the file cannot be read or written, a key is none, or the file would not be usable afterwards.
    """
    file = Path(path)
    data = read_bytes(file)
    toml_from(data, file.name)
    text = data.decode("utf-8-sig")
    changed = with_values(text, values, file.name)
    source = toml_from(changed.encode(), file.name)
    if shop:
        shop_from(source, "metric")
    else:
        job_from(source)
    written_beside(file, changed.encode())


def with_values(text: str, values: Mapping[str, object], name: str = "job.toml") -> str:
    """A TOML text with keys set, added or removed; see `set_values`.

    Raises:
        SlabwrightError: a key is none, or there is no place for it.
    """
    from tomlkit.exceptions import TOMLKitError

    windows = "\r\n" in text
    text = text.replace("\r\n", "\n")
    if text and not text.endswith("\n"):
        text += "\n"
    wanted = stated_in(text)
    changed = text
    for path, value in values.items():
        key = _split(path, name)
        plain = _whole(value, wanted, key, f"{name}: {path}")
        try:
            for one, single in list(_steps(wanted, key, plain)):
                changed = _with_value(changed, wanted, one, single)
                _set_plain(wanted, one, single)
        except (KeyError, IndexError, TypeError, AttributeError, TOMLKitError) as error:
            raise SlabwrightError(f"{name}: {path}: there is no place for this; add its table by hand first") from error
    try:
        same = _equal(stated_in(changed), wanted)
    except ValueError:
        same = False
    if not same:
        raise SlabwrightError(
            f"{name}: {', '.join(values)} cannot be changed without risk to the rest; change it by hand"
        )
    return changed.replace("\n", "\r\n") if windows else changed


def with_plain_values(
    stated: Mapping[str, Any], values: Mapping[str, object], name: str = "job.toml"
) -> dict[str, Any]:
    """What a file states, with keys set, added or removed, without its text: to try a change; see `set_values`.

    Raises:
        SlabwrightError: a key is none, or there is no place for it.
    """
    wanted: dict[str, Any] = copy.deepcopy(dict(stated))
    for path, value in values.items():
        key = _split(path, name)
        try:
            _set_plain(wanted, key, _whole(value, wanted, key, f"{name}: {path}"))
        except (KeyError, IndexError, TypeError, AttributeError) as error:
            raise SlabwrightError(f"{name}: {path}: there is no place for this; add its table by hand first") from error
    return wanted


def _split(path: str, name: str) -> Key:
    if not _PATH.fullmatch(path):
        raise SlabwrightError(
            f"{name}: {path!r} is not a key; write it like slab.moisture.core or slab.defects[0].depth"
        )
    parts = [part for part in re.split(r"[.\[\]]+", path) if part]
    numbered = set(re.findall(r"\[([0-9]+)\]", path))
    return tuple(int(part) if part in numbered else part for part in parts)


def _plain(value: object) -> Any:
    """The value in TOML's own types: tuples and arrays become lists."""
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items() if item is not None}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value


def _whole(value: object, stated: Any, key: Key, place: str) -> Any:
    """The value in TOML's own types. Nothing (JSON's null) leaves a key out; in a list, and in place of one's tables, it is told.

    Raises:
        SlabwrightError: an entry of a list is nothing, or a word or a number stands where a list of tables does.
    """
    plain = _plain(value)
    if _has_holes(plain):
        raise SlabwrightError(f"{place}: an entry of a list cannot be null; leave that entry out")
    old = stated
    for part in key:
        there = part in old if isinstance(old, Mapping) else isinstance(old, list) and part in range(len(old))
        old = old[part] if there else None
    if _of_tables(old) and plain is not None and not isinstance(plain, list | Mapping):
        raise SlabwrightError(f"{place}: is a list of tables; state a list, such as [], or null to leave it out")
    return plain


def _has_holes(value: Any) -> bool:
    if isinstance(value, Mapping):
        return any(map(_has_holes, value.values()))
    return isinstance(value, list) and any(item is None or _has_holes(item) for item in value)


def _equal(one: Any, other: Any) -> bool:
    """Equal in value and type; a NaN equals itself."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_equal(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_equal, one, other))
    return type(one) is type(other) and bool(one == other or (one != one and other != other))


def _steps(stated: Any, key: Key, value: Any) -> Iterator[tuple[Key, Any]]:
    """A change as single ones, so that a table or a list of tables is changed in place and keeps its remarks."""
    old: Any = stated
    for part in key:
        there = isinstance(old, Mapping) and part in old
        there = there or (isinstance(old, list) and isinstance(part, int) and part < len(old))
        old = old[part] if there else None
    if isinstance(old, dict) and isinstance(value, dict) and old and value:
        for name in [name for name in old if name not in value]:
            yield (*key, name), None
        for name, item in value.items():
            yield from _steps(stated, (*key, name), item)
    elif _of_tables(old) and _of_tables(value):
        for number in reversed(range(len(value), len(old))):
            yield (*key, number), None
        for number, item in enumerate(value):
            yield from _steps(stated, (*key, number), item)
    elif _of_tables(old) and value == []:
        yield key, None
    else:
        yield key, value


def _of_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(entry, Mapping) for entry in value)


def _set_plain(table: Any, key: Key, value: Any) -> None:
    for part, following in itertools.pairwise(key):
        if value is None and isinstance(table, Mapping) and part not in table:
            # What is to be left out of a table that is not there is left out already.
            return
        if isinstance(part, int):
            if part == len(table):
                table.append({})
            table = table[part]
        else:
            table = table.setdefault(part, [] if isinstance(following, int) else {})
    last = key[-1]
    if value is None:
        if isinstance(last, int) or last in table:
            del table[last]
    elif isinstance(last, int) and last == len(table):
        table.append(value)
    else:
        table[last] = value


def _with_value(text: str, stated: dict[str, Any], key: Key, value: Any) -> str:
    """The text with one key changed in place, or added at its table's end, or removed."""
    here: Any = stated
    for number, part in enumerate(key):
        is_new = part == len(here) if isinstance(part, int) else part not in here
        if is_new and value is None:
            return text
        if is_new:
            below: Any = [] if isinstance(part, int) else {}
            _set_plain(below, (0, *key[number + 1 :]) if isinstance(part, int) else key[number:], value)
            return _added(text, key[: number + 1], below[0] if isinstance(part, int) else below[part])
        here = here[part]
    return _changed(text, key, value)


def _changed(text: str, key: Key, value: Any) -> str:
    """The text with a key that it has changed in place or removed, by way of the document with its comments.

    Where the key stands with its whole value under one header, only what is under that header is read as a document.
    """
    import tomlkit
    from tomlkit.items import AoT, Array

    before, part, after, rest = _under_its_header(text, key)
    document = tomlkit.parse(part)
    here: Any = document
    for name in rest[:-1]:
        here = here[name]
    last: Any = rest[-1]
    old = here[last]
    if value is None:
        del here[last]
    elif isinstance(old, Array) and isinstance(value, list):
        _change_list(old, value)
    elif isinstance(old, AoT) or (isinstance(old, Mapping) and isinstance(value, Mapping)):
        here[last] = _tables(value)
    else:
        here[last] = _inline(value)
    return before + tomlkit.dumps(document) + after


def _under_its_header(text: str, key: Key) -> tuple[str, str, str, Key]:
    """What stands before, under and after the header of a key's table, and the way to the key from there.

    Everything stands under no header where the value is made of tables with headers of their own.
    """
    parts = headers(text)
    spread = any(part.key[: len(key)] == key for part in parts)
    over = [number for number, part in enumerate(parts) if part.key == key[: len(part.key)]]
    if spread or not over:
        return "", text, "", key
    number = max(over, key=lambda one: len(parts[one].key))
    lines = re.findall(r"[^\n]*\n|[^\n]+", text)
    begin = parts[number].line
    end = parts[number + 1].line - 1 if number + 1 < len(parts) else len(lines)
    whole = "".join(lines[:begin]), "".join(lines[begin:end]), "".join(lines[end:])
    return *whole, key[len(parts[number].key) :]


def _added(text: str, key: Key, value: Any) -> str:
    """The text with a key that it did not have.

    A value goes under the line that shows it as a comment (`# survey = "survey.csv"`), else below its table's last value. A table
    goes below all tables of the one that holds it, above the words that lead over to the next.
    """
    import tomlkit

    lines = re.findall(r"[^\n]*\n|[^\n]+", text)
    parts = headers(text)
    of_table = [header for header in parts if header.key == key[:-1]]
    is_table = isinstance(value, Mapping) or isinstance(key[-1], int)
    is_list = _of_tables(value)
    family = [header for header in parts if header.key[: len(key) - 1] == key[:-1]]
    if isinstance(value, Mapping | list) and (is_table or is_list) and family and (of_table or len(key) > 1):
        name = ".".join(str(part) for part in key if not isinstance(part, int))
        entries: list[Any] = value if isinstance(value, list) and is_list else [value]
        in_list = is_list or isinstance(key[-1], int)
        blocks = [_block(name, entry, in_list) for entry in entries]
        at = _end(lines, parts, family[-1])
        before = "\n" if at and lines[at - 1].strip() else ""
        after = "\n" if at < len(lines) and lines[at].strip() else ""
        return "".join(lines[:at]) + before + "\n".join(blocks) + after + "".join(lines[at:])
    if of_table:
        at = _under(lines, parts, of_table[0], str(key[-1]))
        return "".join(lines[:at]) + tomlkit.dumps({str(key[-1]): _inline(value)}) + "".join(lines[at:])
    document = tomlkit.parse(text)
    here: Any = document
    for part in key[:-1]:
        here = here[part]
    if isinstance(key[-1], int):
        here.append(_inline(value))
    else:
        here[key[-1]] = _inline(value)
    return tomlkit.dumps(document)


def _block(name: str, value: Mapping[str, Any], in_list: bool) -> str:
    import tomlkit

    header = f"[[{name}]]" if in_list else f"[{name}]"
    return f"{header}\n" + "".join(tomlkit.dumps({key: _inline(item)}) for key, item in value.items())


def _next_line(lines: list[str], parts: list[Header], header: Header) -> int:
    """Number of lines above the header that follows, or all."""
    return next((part.line - 1 for part in parts if part.line > header.line), len(lines))


def _end(lines: list[str], parts: list[Header], header: Header) -> int:
    """Number of lines up to a table's end, its own remarks included, without those that lead over to the next table."""
    end = _next_line(lines, parts, header)
    if end < len(lines):
        while end > header.last and lines[end - 1].lstrip().startswith("#"):
            end -= 1
    while end > header.last and not lines[end - 1].strip():
        end -= 1
    return end


def _under(lines: list[str], parts: list[Header], header: Header, name: str) -> int:
    """Number of lines above the place for a new value."""
    shown = re.compile(rf"\s*#\s*{re.escape(name)}\s*=")
    for number in range(header.line + 1, _next_line(lines, parts, header) + 1):
        if number not in header.values and shown.match(lines[number - 1]):
            return number
    return header.last


def _inline(value: Any) -> Any:
    """A value that fits on one line: tables in braces."""
    import tomlkit

    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        table.update({key: _inline(item) for key, item in value.items()})
        return table
    if isinstance(value, list):
        array = tomlkit.array()
        for item in value:
            array.append(_inline(item))
        return array
    return value


def _tables(value: Any) -> Any:
    """A table, or a list of tables, each under its own header and with a blank line below."""
    import tomlkit

    if isinstance(value, list):
        tables = tomlkit.aot()
        for entry in value:
            tables.append(_tables(entry))
        return tables
    table = tomlkit.table()
    table.update({key: _inline(item) for key, item in value.items()})
    table.add(tomlkit.nl())
    return table


def _change_list(array: Any, value: list[Any]) -> None:
    """Change a list in place, so that comments between its items stay."""
    for index, (old, new) in enumerate(zip(array.unwrap(), value, strict=False)):
        if not _equal(old, new):
            array[index] = new
    for _ in range(len(array) - len(value)):
        array.pop()
    for item in value[len(array) :]:
        array.append(item)
