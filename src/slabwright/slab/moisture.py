"""The moisture gate: is the slab dry enough for the client's room?"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import fmean
from typing import Literal

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY, Finding
from slabwright.job.models import Moisture, Room, Season
from slabwright.reference.air import EQUATION, Air, equilibrium_moisture, rooms

NEAR = 2.0
"""Core above the room's dampest season by less than this [%]: go. Common practice."""
FAR = 4.0
"""Above it by more than this [%]: stop. Common practice."""
_WET_SKIN = 3.0
"""Shell above the core by more than this [%] is odd: common practice."""
_DAYS_PER_PERCENT = (7.0, 21.0)
"""Days that a 50 mm slab in a heated shop takes to lose one percent: a rule of thumb, from memory."""
_RULE_THICKNESS = 50.0


@dataclass(frozen=True)
class MoistureGate:
    """What the meter said against what the room asks for."""

    verdict: Literal["go", "caution", "stop"] = figure(
        "",
        "whether the slab may be cut now",
        how="core (or shell, where the core is not known) against the room's seasons: within 2 % of them go, beyond 4 % stop",
        rests_on=["slab.moisture.core", "slab.moisture.shell", "slab.moisture.target_low", "slab.moisture.target_high"],
        source=COMMON_PRACTICE,
        change="let it lie, or dry it in a kiln, and read it again",
    )
    shell: float | None = figure(
        "%",
        "moisture near the surface",
        how="mean of the readings",
        rests_on=["job:slab.moisture.shell"],
        change="read it again",
    )
    core: float | None = figure(
        "%",
        "moisture at half the thickness",
        how="mean of the readings",
        rests_on=["job:slab.moisture.core"],
        change="read it again, with pins driven to half the thickness",
    )
    target: float | None = figure(
        "%",
        "moisture the wood will come to in the room",
        how="mean of the driest and the dampest season",
        rests_on=["slab.moisture.target_low", "slab.moisture.target_high"],
        source=EQUATION,
    )
    target_low: float | None = figure(
        "%",
        "in the room's driest season",
        how="equilibrium moisture of the season's air",
        rests_on=["job:room.kind", "job:room.dry"],
        source=EQUATION,
        change="state the room's own air, from a hygrometer",
    )
    target_high: float | None = figure(
        "%",
        "in the room's dampest season",
        how="equilibrium moisture of the season's air",
        rests_on=["job:room.kind", "job:room.damp"],
        source=EQUATION,
        change="state the room's own air, from a hygrometer",
    )
    excess: float | None = figure(
        "%",
        "core (or shell) above the target; below it negative",
        how="core less target",
        rests_on=["slab.moisture.core", "slab.moisture.shell", "slab.moisture.target"],
    )
    wait_low: float | None = figure(
        "day",
        "shortest likely wait",
        how="7 days for each percent above the target at 50 mm thickness, with the square of the thickness",
        rests_on=["slab.moisture.excess", "slab.survey.thickness_most"],
        sure="a rule of thumb",
        source=FROM_MEMORY,
        change="a drier, warmer shop with moving air; a kiln",
    )
    wait_high: float | None = figure(
        "day",
        "longest likely wait",
        how="21 days for each percent above the target at 50 mm thickness, with the square of the thickness",
        rests_on=["slab.moisture.excess", "slab.survey.thickness_most"],
        sure="a rule of thumb",
        source=FROM_MEMORY,
        change="a drier, warmer shop with moving air; a kiln",
    )


def room_air(room: Room | None) -> tuple[Air, Air] | None:
    """Air of the room's driest and dampest season: as stated, else by the kind of room; None where neither is known."""

    def stated(season: Season) -> Air:
        return Air(season.temperature, season.humidity)

    if room is None:
        return None
    by_kind = rooms().get(room.kind) if room.kind else None
    dry = stated(room.dry) if room.dry else by_kind[0] if by_kind else None
    damp = stated(room.damp) if room.damp else by_kind[1] if by_kind else None
    return (dry, damp) if dry and damp else None


def moisture_gate(moisture: Moisture | None, room: Room | None, thickness: float) -> MoistureGate:
    """Compare the slab's moisture with what the room will bring it to.

    Args:
        moisture: meter readings, or None
        room: where the piece will stand, or None
        thickness: of the rough slab [mm]

    Returns:
        The verdict: `caution` where anything is not known, `stop` where the slab is far too wet.
    """
    shell = fmean(moisture.shell) if moisture and moisture.shell else None
    core = fmean(moisture.core) if moisture and moisture.core else None
    air = room_air(room)
    known = core if core is not None else shell
    if air is None:
        return MoistureGate("caution", shell, core, None, None, None, None, None, None)
    low, high = sorted(equilibrium_moisture(season.temperature, season.humidity) for season in air)
    target = (low + high) / 2.0
    if known is None:
        return MoistureGate("caution", shell, core, target, low, high, None, None, None)
    above, below = known - high, low - known
    verdict: Literal["go", "caution", "stop"] = "go"
    if above > FAR:
        verdict = "stop"
    elif core is None or above > NEAR or below > NEAR:
        verdict = "caution"
    over = max(0.0, known - target)
    scale = (thickness / _RULE_THICKNESS) ** 2 * over if above > NEAR else 0.0
    wait = [scale * days for days in _DAYS_PER_PERCENT]
    return MoistureGate(verdict, shell, core, target, low, high, known - target, wait[0], wait[1])


def moisture_findings(gate: MoistureGate) -> tuple[Finding, ...]:
    """What the gate has to say: what is not known, too wet, too dry, or wet inside."""
    found: list[Finding] = []
    if gate.target_low is None or gate.target_high is None:
        found.append(
            Finding(
                "slab/room-unknown",
                "caution",
                "The room's air is not stated, so nobody can say how dry the slab must be.",
                'State [room] kind: "heated house", "air-conditioned" or "church"; or its dry and damp air.',
            )
        )
    if gate.shell is None and gate.core is None:
        found.append(
            Finding(
                "slab/moisture-unknown",
                "caution",
                "The slab's moisture is not stated.",
                "Read it with a pin meter near the surface and at half the thickness, and state [slab.moisture] shell and core.",
            )
        )
    elif gate.core is None:
        found.append(
            Finding(
                "slab/core-unknown",
                "caution",
                f"Only the shell was read ({gate.shell:.1f} %): a thick slab can be much wetter inside.",
                "Read the core: insulated pins driven to half the thickness, or a fresh cut 300 mm (12 in) from an end.",
            )
        )
    if gate.shell is not None and gate.core is not None and gate.shell > gate.core + _WET_SKIN:
        found.append(
            Finding(
                "slab/shell-wetter",
                "caution",
                f"The shell reads {gate.shell:.1f} %, the core {gate.core:.1f} %: a wet skin, or a slip of the meter or the pen.",
                "Read both again; let a wetted slab dry on stickers for some days first.",
            )
        )
    known = gate.core if gate.core is not None else gate.shell
    if known is not None and gate.target_high is not None and gate.target_low is not None:
        room = f"{gate.target_low:.1f} to {gate.target_high:.1f} %"
        wait = (
            f"{gate.wait_low:.0f} to {gate.wait_high:.0f} days on stickers (a rule of thumb)" if gate.wait_low else ""
        )
        if gate.verdict == "stop":
            found.append(
                Finding(
                    "slab/too-wet",
                    "stop",
                    f"At {known:.1f} % the slab is far wetter than its room will make it ({room}): "
                    "cut now, it will shrink, cup and check.",
                    f"Wait {wait}, or dry it in a kiln; then read it again.",
                )
            )
        elif known > gate.target_high + NEAR:
            found.append(
                Finding(
                    "slab/damp",
                    "caution",
                    f"At {known:.1f} % the slab is wetter than its room will make it ({room}).",
                    f"Let it lie {wait}, then read it again.",
                )
            )
        elif known < gate.target_low - NEAR:
            found.append(
                Finding(
                    "slab/too-dry",
                    "caution",
                    f"At {known:.1f} % the slab is drier than its room ({room}): it will swell.",
                    "Let it lie in air like the room's before it is cut, and leave room for it to grow.",
                )
            )
    return tuple(found)
