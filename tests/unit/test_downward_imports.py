"""Imports run downward only: a room knows nothing of the rooms that come after it in the work."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import slabwright

HOME = Path(slabwright.__file__).parent

# Lowest first: what stands in a row may import from rows above it and from its own room.
ROWS: tuple[tuple[str, ...], ...] = (
    ("findings", "quantities", "accounts"),
    ("written", "beside"),
    ("reference", "geometry"),
    ("job",),
    ("slab",),
    ("top",),
    ("base",),
    ("finish",),
    ("carry",),
    ("machine",),
    ("shop",),
    ("kept",),
    ("plan",),
    ("why", "spoken", "sheets", "book", "reading"),
    ("web",),
    ("cli",),
    ("__main__",),
)
LEVEL = {room: level for level, row in enumerate(ROWS) for room in row}
MODULES = sorted(HOME.rglob("*.py"))


def room_of(path: Path) -> str:
    return path.relative_to(HOME).with_suffix("").parts[0]


def imported_rooms(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: a relative import"
            names = [node.module or ""]
            if node.module == "slabwright":
                names = [f"slabwright.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        found |= {name.split(".")[1] for name in names if name.startswith("slabwright.")}
    return found - {"__version__"}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(HOME)))
def test_imports_run_downward(path: Path) -> None:
    own = room_of(path)
    if own == "__init__":
        # The public face: names are imported when they are asked for, so nothing may run at import.
        tree = ast.parse(path.read_text(encoding="utf-8"))
        assert not [
            node
            for node in tree.body
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("slabwright")
        ]
        return
    assert own in LEVEL, f"{own} has no place in the order of the rooms"
    for room in imported_rooms(path) - {own}:
        assert LEVEL[room] < LEVEL[own], f"{path.relative_to(HOME)} imports slabwright.{room}"


@pytest.mark.parametrize("room", ["slab", "geometry"])
def test_stages_open_no_files(room: str) -> None:
    for path in (HOME / room).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                assert name not in {"open", "read_text", "write_text", "read_bytes", "write_bytes", "print", "input"}, (
                    path
                )
