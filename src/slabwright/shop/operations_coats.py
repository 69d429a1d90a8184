"""Operations of surface preparation and of coats, with the windows between coats as links."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from slabwright.finish.coating_results import CoatPlan, SystemPlan
from slabwright.finish.preparation import PreparationStep
from slabwright.finish.windows import Window
from slabwright.shop.operations_draft import Drafts
from slabwright.shop.operations_results import OperationLink

_M2, _M = 1e6, 1e3
_SHARED = ("sand coat", "scuff coat")
_CALLED = {
    "live edges": "Clean the live edges",
    "long edges": "Sand the long edges",
    "pockets and channels": "Clean out pockets and channels",
    "bores": "Ease the bores",
    "degrease": "Degrease the steel",
    "welds and scale": "Take off scale and spatter",
}
"""Steps whose name alone does not say what is done."""


def amount_of(step: PreparationStep) -> float:
    """What drives a step of preparation: square metres, square metres times grits, metres, or pieces."""
    if step.driven_by == "length":
        return step.length / _M
    if step.driven_by == "piece":
        return 1.0
    return step.area / _M2 * (max(1, len(step.grits)) if step.driven_by == "grit" else 1)


def prepared(d: Drafts, steps: Sequence[PreparationStep], after: Iterable[str | None], room: str) -> str | None:
    """The steps up to the first coat, one after the other; returns the last one's name, or None where there are none."""
    last: str | None = None
    for step in steps:
        if step.of != room or step.sign_off or step.name.startswith(_SHARED) or amount_of(step) <= 0.0:
            continue
        before = after if last is None else (last,)
        name = _CALLED.get(step.name, step.name.capitalize())
        last = d.add(name, step.name, amount_of(step), before, room=room, unattended=60.0 * step.wait)
    return last


def coated(
    d: Drafts, system: SystemPlan, steps: Sequence[PreparationStep], after: Iterable[OperationLink | str | None]
) -> str:
    """Every coat of a system, what is done to a coat before the next one, and its hardening; returns the last one's name."""
    links = list(after)
    before: CoatPlan | None = None
    name = ""
    for coat in system.coats:
        if before is not None and before.next is not None:
            links = _between(d, system.on, before, before.next, steps, name)
        name, before = _coat(d, system.on, coat, links), coat
    last = system.coats[-1]
    return d.wait(
        f"Coats on the {system.on} harden", max(0.0, 60.0 * system.cure - _waits(d, last)), (name,), room=system.on
    )


def _waits(d: Drafts, coat: CoatPlan) -> float:
    """Minutes for which a coat keeps its place: until it takes no more dust, or the next one may go on."""
    dry = coat.touch_dry if coat.touch_dry is not None else d.table.waits["takes_dust"]
    return dry if coat.next is None else min(dry, 60.0 * coat.next.least)


def coat_name(on: str, coat: CoatPlan) -> str:
    """What the operation of a coat is called."""
    return f"Coat {coat.number} on the {on}: {coat.coating}"


def _coat(d: Drafts, on: str, coat: CoatPlan, after: Iterable[OperationLink | str | None]) -> str:
    waits = _waits(d, coat)
    return d.add(
        coat_name(on, coat),
        f"{coat.put_on} a coat",
        coat.minutes,
        after,
        room=on,
        unattended=waits,
        holds=("spray corner",),
        coat_open=waits,
    )


def _between(
    d: Drafts, on: str, coat: CoatPlan, window: Window, steps: Sequence[PreparationStep], name: str
) -> list[OperationLink | str | None]:
    """Links of the next coat; sanding or scuffing is an operation of its own."""
    waits = _waits(d, coat)
    least = max(0.0, 60.0 * window.least - waits)
    # A window that is narrower than the rounding of whole minutes stays open for that minute.
    greatest = None if window.greatest is None else max(60.0 * window.greatest - waits, least + 1.0)
    link = OperationLink(name, least, greatest)
    if window.way == "without sanding":
        return [link]
    sand = window.way == "after sanding"
    step = next(
        (s for s in steps if s.of == on and s.name == f"{'sand' if sand else 'scuff'} coat {coat.number}"), None
    )
    amount = amount_of(step) if step is not None else coat.area / _M2 * (2.0 if sand else 1.0)
    between = d.add(
        f"{'Sand' if sand else 'Scuff'} coat {coat.number} on the {on}",
        f"{'sand' if sand else 'scuff'} between coats",
        amount,
        (OperationLink(name, least),),
        room=on,
    )
    return [link, between]
