"""Before the first cut: places to touch with the found position, and places that could be touched off at all."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from slabwright.accounts import figure
from slabwright.geometry.touches import covariance_at, radius_within
from slabwright.machine.datum_checks import FeaturePlace, Touched
from slabwright.machine.located import DatumKind, Located
from slabwright.machine.registration import Candidate


@dataclass(frozen=True)
class DryRunPoint:
    """A place to go to before the first cut, with the cutter still and the machine's figures in view."""

    number: int = figure("1", "in the order of the run")
    name: str = figure("", "of the place")
    kind: Literal["point", "edge along", "edge across", "feature"] = figure(
        "", "point: touch it; edge: touch the edge there; feature: look that the cutter stands over its mark"
    )
    x: float = figure(
        "mm", "on the machine", how="the drawing's place, turned and shifted", rests_on=["job:top.datums"]
    )
    y: float = figure(
        "mm", "on the machine", how="the drawing's place, turned and shifted", rests_on=["job:top.datums"]
    )
    within: float = figure(
        "mm",
        "that the touch may differ by; more, and nothing is cut before it is found out why",
        how="99 % of the error of the fit and of a touch together, and the machine's own error",
        rests_on=["job:top.datums", "job:top.machine_error"],
    )


def dry_run(
    located: Located,
    datums: Sequence[Touched],
    features: Mapping[str, FeaturePlace | tuple[float, float, float]],
) -> tuple[DryRunPoint, ...]:
    """Places to go to before the first cut, with what the machine should show there.

    The touched places first, by way of the nearest next; then the middle of every feature, the same way.

    Args:
        located: how the piece lies
        datums: as they were touched
        features: by name, as `locate` takes them
    """
    touch = float(np.median([datum.error for datum in datums])) if datums else 0.0
    first = [(datum.name, datum.kind, (float(datum.stated[0]), float(datum.stated[1]))) for datum in datums]
    then = [(name, "feature", _middle(value)) for name, value in features.items()]
    told: list[DryRunPoint] = []
    here = (0.0, 0.0)
    for group in (first, then):
        if not group:
            continue
        drawn = np.array([place for *_, place in group])
        around = covariance_at(located.covariance, located.laid(drawn)) + touch**2 * np.eye(2)
        within = radius_within(around) + located.machine_error
        onto = located.to_machine(drawn)
        left = list(range(len(group)))
        while left:
            nearest = min(left, key=lambda index: math.dist(here, onto[index]))
            left.remove(nearest)
            here = (float(onto[nearest, 0]), float(onto[nearest, 1]))
            name, kind, _ = group[nearest]
            told.append(DryRunPoint(len(told) + 1, name, kind, *here, float(within[nearest])))  # type: ignore[arg-type]
    return tuple(told)


def _middle(value: FeaturePlace | tuple[float, float, float]) -> tuple[float, float]:
    return (value.x, value.y) if isinstance(value, FeaturePlace) else (value[0], value[1])


def candidate_datums(
    length: float,
    width: float,
    holes: Mapping[str, tuple[float, float]],
    *,
    live_edges: bool,
    taken: Sequence[Touched] = (),
    near: float = 20.0,
) -> tuple[Candidate, ...]:
    """Places that could be touched as well: corners, places along sawn edges and ends, and holes.

    A live edge is no place to touch: only ends and holes are left then.

    Args:
        length: of the top [mm]
        width: of the top [mm]
        holes: by name, the middles of round holes that are there already, in the drawing [mm]
        live_edges: whether both long edges stay live
        taken: places that were touched; nothing of the same kind nearer than `near` is offered
        near: [mm]
    """
    half, quarter = width / 2.0, length / 4.0
    offered: list[Candidate] = []
    if not live_edges:
        for name, x, y in (
            ("left near corner", 0.0, -half),
            ("right near corner", length, -half),
            ("left far corner", 0.0, half),
            ("right far corner", length, half),
        ):
            offered.append(Candidate(name, "point", x, y))
        for side, y in (("near", -half), ("far", half)):
            offered.append(Candidate(f"{side} edge, towards the left end", "edge along", quarter / 2.0, y))
            offered.append(Candidate(f"{side} edge, towards the right end", "edge along", length - quarter / 2.0, y))
    for end, x in (("left", 0.0), ("right", length)):
        for part, y in (("towards the near edge", -half / 2.0), ("towards the far edge", half / 2.0)):
            offered.append(Candidate(f"{end} end, {part}", "edge across", x, y))
    offered += [Candidate(f"hole '{name}'", "point", x, y) for name, (x, y) in holes.items()]

    def free(candidate: Candidate) -> bool:
        kind: DatumKind = candidate.kind
        return all(
            datum.kind != kind or math.dist((candidate.x, candidate.y), (datum.stated[0], datum.stated[1])) >= near
            for datum in taken
        )

    return tuple(filter(free, offered))
