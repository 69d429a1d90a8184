"""What moved between two results: every figure, wherever it stands, and nothing that did not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from slabwright.accounts import figure, working
from slabwright.web.differing import differing


@dataclass(frozen=True)
class Part:
    width: float = figure("mm", "how wide")
    words: str = figure("", "what it is")


@dataclass(frozen=True)
class Whole:
    first: Part | None = figure("", "the first")
    parts: tuple[Part, ...] = figure("", "all of them")
    heights: tuple[float, ...] = figure("mm", "heights")
    named: dict[str, float] = figure("kg", "by name")
    array: object = working(None)


BEFORE = Whole(Part(1.0, "one"), (Part(2.0, "two"), Part(3.0, "three")), (4.0, 5.0), {"a": 6.0}, np.zeros(3))


@pytest.mark.parametrize(
    ("after", "moved"),
    [
        (Whole(Part(1.0, "one"), BEFORE.parts, (4.0, 5.0), {"a": 6.0}, np.ones(3)), []),
        (Whole(Part(1.5, "one"), BEFORE.parts, (4.0, 5.0), {"a": 6.0}), [("first.width", 1.0, 1.5)]),
        (Whole(None, BEFORE.parts, (4.0, 5.0), {"a": 6.0}), [("first.width", 1.0, None), ("first.words", "one", None)]),
        (
            Whole(BEFORE.first, (Part(2.0, "two"),), (4.0, 5.5, 7.0), {"b": 8.0}),
            [
                ("parts[1].width", 3.0, None),
                ("parts[1].words", "three", None),
                ("heights[1]", 5.0, 5.5),
                ("heights[2]", None, 7.0),
                ("named.a", 6.0, None),
                ("named.b", None, 8.0),
            ],
        ),
        (Whole(Part(1.0 + 1e-9, "one"), BEFORE.parts, (4.0, 5.0), {"a": 6.0}), []),
        (Whole(Part(float("nan"), "one"), BEFORE.parts, (4.0, 5.0), {"a": 6.0}), [("first.width", 1.0, None)]),
    ],
)
def test_every_figure_that_moved_is_told(after: Whole, moved: list[tuple[str, object, object]]) -> None:
    def value(account: object) -> object:
        found = getattr(account, "value", None)
        return None if isinstance(found, float) and found != found else found

    assert [(one.path, value(one.old), value(one.new)) for one in differing(BEFORE, after)] == moved


def test_a_figure_brings_its_unit_along() -> None:
    after = Whole(BEFORE.first, BEFORE.parts, (4.0, 5.5), {"a": 6.5})
    found = {one.path: one.new for one in differing(BEFORE, after, "top")}
    assert {path: new.description.unit for path, new in found.items() if new} == {
        "top.heights[1]": "mm",
        "top.named.a": "kg",
    }
