"""Where each key of a TOML text stands, so that a message can name the line."""

from __future__ import annotations

import functools
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass

Key = tuple[str | int, ...]
"""The way to a value: names of tables and keys, numbers of list items."""

_TEXTS = 12
"""Texts whose headers and lines are kept."""
_SPACE = re.compile(r"[ \t]*")
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_NAME = re.compile(r"[A-Za-z0-9_-]+|\"(?:[^\"\\\n]|\\.)*\"|'[^'\n]*'")
_TEXT = re.compile(r"\"\"\"(?:[^\\]|\\.)*?\"\"\"\"{0,2}|'''.*?''''{0,2}|\"(?:[^\"\\\n]|\\.)*\"|'[^'\n]*'", re.DOTALL)
_PLAIN = re.compile(r"[^\s,\]}#]+(?: [0-9][^\s,\]}#]*)?")


def written(key: Key) -> str:
    """The key as messages and `Job.where` write it: `slab.defects[0].depth`."""
    return "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in key).removeprefix(".")


@dataclass
class _Reader:
    """Reads a text that `tomllib` has accepted; only where things stand is of interest."""

    text: str
    position: int = 0
    line: int = 1

    def take(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.position)
        taken = match[0] if match else ""
        self.position += len(taken)
        self.line += taken.count("\n")
        return taken

    def next_is(self, start: str) -> bool:
        return self.text.startswith(start, self.position)

    def skip(self, start: str) -> bool:
        if not self.next_is(start):
            return False
        self.position += len(start)
        return True

    def name(self) -> Key:
        """A key, dotted or not, bare or in quotes."""
        parts: list[str] = []
        while True:
            self.take(_SPACE)
            part = self.take(_NAME)
            parts.append(tomllib.loads(f"x = {part}")["x"] if part[:1] in ("'", '"') else part)
            self.take(_SPACE)
            if not self.skip("."):
                return tuple(parts)

    def value(self, key: Key) -> Iterator[tuple[Key, int]]:
        """What stands inside a value: items of a list, keys of an inline table."""
        if self.skip("["):
            number = 0
            while True:
                self.take(_BLANK)
                if self.skip("]") or self.position >= len(self.text):
                    return
                yield (*key, number), self.line
                yield from self.value((*key, number))
                number += 1
                self.take(_BLANK)
                self.skip(",")
        elif self.skip("{"):
            while True:
                self.take(_BLANK)
                if self.skip("}") or self.position >= len(self.text):
                    return
                yield from self.pair(key)
                self.take(_BLANK)
                self.skip(",")
        elif not self.take(_TEXT):
            self.take(_PLAIN)

    def pair(self, table: Key) -> Iterator[tuple[Key, int]]:
        """A key with its value; the tables that a dotted key opens stand on its line."""
        line = self.line
        name = self.name()
        for end in range(1, len(name) + 1):
            yield (*table, *name[:end]), line
        self.skip("=")
        self.take(_SPACE)
        yield from self.value((*table, *name))


@dataclass(frozen=True)
class Header:
    """A table's header and what stands right under it.

    Attributes:
        key: the table; () for what stands above all tables
        line: of the header, from 1; 0 for what stands above all tables
        last: line on which its last key's value ends; the header's own where it has none
        values: lines that its keys and values take
    """

    key: Key
    line: int
    last: int
    values: frozenset[int]


def _walk(text: str) -> Iterator[tuple[Header, list[tuple[Key, int]]]]:
    """Each header, in order, with its keys and their lines."""
    reader = _Reader(text)
    counts: dict[Key, int] = {}
    table: Key = ()
    line = 0
    keys: list[tuple[Key, int]] = []
    values: set[int] = set()

    def numbered(name: Key) -> Key:
        way: Key = ()
        for part in name:
            way = (*way, part)
            if way in counts:
                way = (*way, counts[way] - 1)
        return way

    def header() -> Header:
        return Header(table, line, max(values, default=line), frozenset(values))

    while True:
        reader.take(_BLANK)
        if reader.position >= len(text):
            yield header(), keys
            return
        if reader.skip("["):
            yield header(), keys
            of_list = reader.skip("[")
            line, keys, values = reader.line, [], set()
            name = reader.name()
            reader.skip("]]" if of_list else "]")
            if of_list:
                way = (*numbered(name[:-1]), name[-1])
                counts[way] = counts.get(way, 0) + 1
            table = numbered(name)
        else:
            start = reader.line
            keys += reader.pair(table)
            values |= set(range(start, reader.line + 1))


@functools.lru_cache(maxsize=_TEXTS)
def _walked(text: str) -> tuple[tuple[Header, tuple[tuple[Key, int], ...]], ...]:
    """The walk through a text, kept for a while: a text that was loaded is the one that is changed next."""
    return tuple((header, tuple(keys)) for header, keys in _walk(text))


def headers(text: str) -> list[Header]:
    """The headers of a TOML text, in order; the first stands for what is above all tables.

    Args:
        text: TOML that `tomllib` has read without complaint
    """
    return [header for header, _ in _walked(text)]


def places(text: str) -> dict[Key, int]:
    """Line, from 1, of every table, key and list item of a TOML text.

    Args:
        text: TOML that `tomllib` has read without complaint

    Returns:
        The first line on which each is named; `("slab", "defects", 0, "depth")` for a key in a list of tables.
    """
    found: dict[Key, int] = {}
    for header, keys in _walked(text):
        for end in range(1, len(header.key) + 1):
            found.setdefault(header.key[:end], header.line)
        for key, line in keys:
            found.setdefault(key, line)
    return found
