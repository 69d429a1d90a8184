"""Where each key of a TOML text stands, so that a message can name the line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass

Key = tuple[str | int, ...]
"""The way to a value: names of tables and keys, numbers of list items."""

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


def places(text: str) -> dict[Key, int]:
    """Line, from 1, of every table, key and list item of a TOML text.

    Args:
        text: TOML that `tomllib` has read without complaint

    Returns:
        The first line on which each is named; `("slab", "defects", 0, "depth")` for a key in a list of tables.
    """
    reader = _Reader(text)
    found: dict[Key, int] = {}
    counts: dict[Key, int] = {}
    table: Key = ()

    def numbered(name: Key) -> Key:
        way: Key = ()
        for part in name:
            way = (*way, part)
            if way in counts:
                way = (*way, counts[way] - 1)
        return way

    while True:
        reader.take(_BLANK)
        if reader.position >= len(text):
            return found
        if reader.skip("["):
            line, of_list = reader.line, reader.skip("[")
            name = reader.name()
            reader.skip("]]" if of_list else "]")
            if of_list:
                way = (*numbered(name[:-1]), name[-1])
                counts[way] = counts.get(way, 0) + 1
            table = numbered(name)
            for end in range(1, len(table) + 1):
                found.setdefault(table[:end], line)
        else:
            for key, line in reader.pair(table):
                found.setdefault(key, line)
