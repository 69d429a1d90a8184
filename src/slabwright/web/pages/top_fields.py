"""What is asked of each feature of the top, and what a new one says until it is changed."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from typing import Any, Literal

from pydantic import Field

from slabwright.job.folder import JOB_FILE
from slabwright.job.top_models import (
    ACROSS_FROM,
    ALL_EDGES,
    ALONG_FROM,
    Bar,
    Channel,
    Edge,
    Feature,
    Placed,
    Pocket,
    Top,
)
from slabwright.quantities import INCH, Units
from slabwright.web.models import Model
from slabwright.web.typed import typed

FieldKind = Literal["length", "number", "words", "choice", "check"]
FeatureKind = Literal["pocket", "insert", "through hole", "outlet", "channel", "key", "bar", "chamfer", "round"]


class Asked(Model):
    """One thing that is asked of a feature."""

    key: str = Field(description="of the job file")
    name: str = Field(description="last part of the key")
    question: str
    kind: FieldKind
    answer: str = Field(description="as it is typed; nothing where it is open")
    choices: list[str] = Field(default_factory=list, description="where only some words can be chosen")


class Switch(Model):
    """A choice of several that is changed at once."""

    words: str
    on: bool
    values: dict[str, Any] = Field(description="keys of the job file, and what they say after it is changed")


_SIZES: dict[str, tuple[tuple[str, str, FieldKind], ...]] = {
    "pocket": (
        ("length", "Plate, along the grain", "length"),
        ("width", "Plate, across the grain", "length"),
        ("depth", "Depth", "length"),
        ("corner_radius", "Round of the plate's corners", "length"),
    ),
    "insert": (
        ("drill", "Hole", "length"),
        ("depth", "Depth, from the pocket's floor where it lies in one", "length"),
        ("thread", "Bolt", "length"),
        ("engagement", "Bolt in the insert", "length"),
        ("outer_length", "Insert, end to end", "length"),
        ("plate", "Plate that the bolt goes through", "choice"),
        ("plate_thickness", "Thickness of that plate", "length"),
        ("fixed", "Does not slide: the wood moves from here", "check"),
    ),
    "through hole": (("diameter", "Hole", "length"),),
    "outlet": (
        ("diameter", "Hole", "length"),
        ("recess_diameter", "Recess on the underside", "length"),
        ("recess_depth", "Depth of the recess", "length"),
        ("nut_diameter", "Room for nut and hand", "length"),
    ),
    "bar": (
        ("section", "Steel", "choice"),
        ("length", "Across the grain", "length"),
        ("width", "Along the grain", "length"),
        ("height", "Height of the steel", "length"),
        ("wall", "Wall", "length"),
        ("depth", "Depth of the groove", "length"),
    ),
    "channel": (
        ("width", "Width", "length"),
        ("depth", "Depth", "length"),
        ("corner_radius", "Round of its corners", "length"),
        ("cable_diameter", "Thickest cable", "length"),
        ("cable_bend", "Least bend of the cable", "length"),
    ),
    "key": (
        ("length", "Across the crack", "length"),
        ("width", "At its ends", "length"),
        ("waist", "At its waist", "length"),
        ("depth", "Depth", "length"),
        ("turn", "Degrees against the grain", "number"),
    ),
    "chamfer": (("size", "Leg", "length"),),
    "round": (("size", "Radius", "length"),),
}

_NEW: dict[FeatureKind, dict[str, Any]] = {
    "pocket": {"length": 120.0, "width": 400.0, "depth": 8.0},
    "insert": {"drill": 12.0, "depth": 24.0, "thread": 8.0, "engagement": 14.0},
    "through hole": {"diameter": 60.0},
    "outlet": {"diameter": 60.0, "recess_diameter": 78.0, "recess_depth": 20.0, "nut_diameter": 95.0},
    "channel": {"width": 12.0, "depth": 14.0, "cable_diameter": 8.0},
    "key": {"length": 90.0, "width": 45.0, "waist": 22.0, "depth": 16.0},
    "bar": {"length": 500.0, "width": 40.0, "height": 6.0, "depth": 8.0},
    "chamfer": {"size": 3.0},
    "round": {"size": 3.0},
}
"""Sizes of a new feature [mm]: usual ones, to begin with; the maker states what is at hand. Common practice."""
FEATURE_KINDS: tuple[FeatureKind, ...] = tuple(_NEW)


def raw_top(files: Mapping[str, bytes]) -> dict[str, Any]:
    """`[top]` as the job file has it."""
    whole = tomllib.loads(files[JOB_FILE].decode("utf-8-sig").replace("\r\n", "\n"))
    top = whole.get("top", {})
    return top if isinstance(top, dict) else {}


def asked_of(top: Top, number: int, files: Mapping[str, bytes], units: Units) -> list[Asked]:
    """What is asked of one feature, its place first.

    Args:
        top: as it is stated
        number: of the feature, from 0
        files: of the revision, for what was typed
        units: of the job
    """
    feature = top.features[number]
    written = raw_top(files).get("features", [])
    said: Mapping[str, Any] = written[number] if number < len(written) else {}
    others = [one.name for one in top.features if isinstance(one, Placed) and one.name != feature.name]
    plates = [one.name for one in top.features if isinstance(one, Pocket | Bar)]
    choices = {
        "face": ["underside", "show"],
        "along_from": [*ALONG_FROM, *others],
        "across_from": [*ACROSS_FROM, *others],
        "plate": ["", *plates],
        "section": ["plate", "let-in channel", "angle"],
    }
    rows: list[tuple[str, str, FieldKind]] = []
    if isinstance(feature, Placed):
        rows = [
            ("along_from", "Along: measured from", "choice"),
            ("along", "Along: distance", "length"),
            ("across_from", "Across: measured from", "choice"),
            ("across", "Across: distance", "length"),
        ]
    rows += _SIZES[feature.kind]
    rows.append(("face", "Cut into", "choice"))
    if not _named_by_others(top, feature.name):
        rows.append(("name", "Name", "words"))
    return [
        Asked(
            key=f"top.features[{number}].{name}",
            name=name,
            question=question,
            kind=kind,
            answer=_answer(said.get(name, getattr(feature, name)), name in said, kind, units),
            choices=choices.get(name, []),
        )
        for name, question, kind in rows
    ]


def _named_by_others(top: Top, name: str) -> bool:
    """Whether another feature is measured from this one, or goes through its plate: its name is then not changed here."""
    keys = ("along_from", "across_from", "plate")
    return any(name == getattr(one, key, None) for one in top.features for key in keys)


def _answer(value: object, stated: bool, kind: FieldKind, units: Units) -> str:
    if value is None:
        return ""
    if kind == "length" and not stated and isinstance(value, int | float):
        return str(typed(float(value), units))
    if kind == "number" and isinstance(value, float):
        return f"{value:g}"
    return str(value)


def edges_of(top: Top, number: int) -> list[Switch]:
    """The edges that a chamfer or a round runs along, each to be taken or left; none for other features."""
    feature = top.features[number]
    if not isinstance(feature, Edge):
        return []
    found = []
    for edge in ALL_EDGES:
        after = [one for one in ALL_EDGES if (one in feature.edges) != (one == edge)]
        if after:
            found.append(Switch(words=edge, on=edge in feature.edges, values={f"top.features[{number}].edges": after}))
    return found


def corners_of(top: Top, number: int, files: Mapping[str, bytes]) -> list[tuple[str, str]]:
    """The corners of a channel as they are typed; none for other features."""
    if not isinstance(top.features[number], Channel):
        return []
    written = raw_top(files).get("features", [])
    return [(str(x), str(y)) for x, y in written[number]["path"]]


def new_feature(top: Top, kind: FeatureKind, length: float, units: Units) -> dict[str, Any]:
    """A feature with usual sizes in the middle of the top, as it is typed.

    Args:
        top: for the names that are taken
        kind: of the feature
        length: of the top [mm]
        units: of the job
    """
    found: dict[str, Any] = {"kind": kind, "name": free_name(kind, [one.name for one in top.features])}
    if kind == "key":
        found["face"] = "show"
    if kind == "channel":
        found["path"] = [
            [typed(_round(length / 2.0 + dx, units), units), typed(_round(y, units), units)] for dx, y in _RUN
        ]
    return found | {name: typed(_round(size, units), units) for name, size in _NEW[kind].items()}


_RUN = ((-200.0, 100.0), (200.0, 100.0))
"""A new channel, from the middle of the top [mm]."""


def _round(mm: float, units: Units) -> float:
    """To what a maker of these units would say: whole millimetres, or sixteenths."""
    step = 1.0 if units == "metric" else INCH / 16.0
    return round(mm / step) * step


def free_name(stem: str, taken: Sequence[str]) -> str:
    """A name that no feature has."""
    return next(name for name in (stem, *(f"{stem} {k}" for k in range(2, 1000))) if name not in taken)


def another(top: Top, number: int, files: Mapping[str, bytes]) -> dict[str, Any]:
    """The same feature once more under another name, as it is typed; it slides, even where its model does not."""
    written: dict[str, Any] = raw_top(files)["features"][number]
    feature: Feature = top.features[number]
    stem = feature.name.rstrip("0123456789").rstrip()
    name = free_name(stem or feature.name, [one.name for one in top.features])
    return {key: value for key, value in written.items() if key != "fixed"} | {"name": name}
