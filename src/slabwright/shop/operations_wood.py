"""Operations of the wood, from the slab that comes in to the top that is ready for its coats."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.carry.lifts_results import Lift
from slabwright.finish.finishing import FinishPlan
from slabwright.job.loaded import Job
from slabwright.shop.operations_draft import DAY, Drafts
from slabwright.shop.operations_results import PlanParts
from slabwright.slab.results import SlabPlan
from slabwright.top.layout_results import TopFeature
from slabwright.top.results import TopPlan

_M2, _M = 1e6, 1e3
_DONE_TO = {"rough": "Rough", "skim": "Skim", "only": "Cut"}
_NO_WORK = ("leave", "reject", "cut off")


@dataclass(frozen=True)
class Cutting:
    """One clamping: face, stage and what drives its time."""

    face: str
    stage: str
    amount: float
    kind: str

    @property
    def name(self) -> str:
        """Such as: Rough face A."""
        return f"{_DONE_TO[self.stage]} face {self.face}"


def lift_when(parts: PlanParts, when: str) -> tuple[Lift, ...]:
    """The lifts of that time of the work."""
    lifts = parts.carry.lifts if parts.carry is not None else ()
    return tuple(lift for lift in lifts if lift.when == when)


def lifted(
    d: Drafts, lifts: Sequence[Lift], after: Sequence[str | None], room: str = "wood", *, done: bool = False
) -> str | None:
    """Lifts one after the other; returns the last one's name, or None where there are none."""
    last: str | None = None
    for lift in lifts:
        last = d.add(
            lift.name, "lift", lift.count, (last,) if last else after, room=room, people=lift.people or 4, done=done
        )
    return last


def cuttings(d: Drafts, job: Job, parts: PlanParts) -> tuple[Cutting, ...]:
    """The clampings, with the running time of their programs, or the area of their passes where there are none."""
    if parts.machine is not None and parts.machine.programs:
        return tuple(
            Cutting(
                clamping.face,
                clamping.stage,
                sum(program.time for program in parts.machine.programs if program.clamping == clamping.number),
                "surface",
            )
            for clamping in parts.machine.clampings
        )
    machine = job.shop.machine
    sled = machine.kind == "sled"
    areas: dict[tuple[str, str], float] = {}
    for each in parts.slab.passes if parts.slab is not None else ():
        areas[each.stage, each.face] = areas.get((each.stage, each.face), 0.0) + each.area
    per = 1.0 / _M2 if sled else d.table.air / (machine.stepover * machine.feed)
    return tuple(
        Cutting(face, stage, area * per, "surface with the sled" if sled else "surface")
        for (stage, face), area in areas.items()
        if area > 0.0
    )


def slab_operations(d: Drafts, job: Job, parts: PlanParts) -> str | None:
    """From the slab's delivery to the flat board on its trestles; returns the last one's name."""
    stated, slab = job.stated, parts.slab
    if stated.slab is None:
        return None
    waits, read = d.table.waits, job.readings is not None
    came = d.wait("Slab comes in", waits["slab"] * DAY, gate="delivery", waits_for="slab", done=read)
    unloaded = lifted(d, lift_when(parts, "when the slab comes"), (came,), done=read) or came
    planned = stated.slab.planned
    area = slab.survey.area if slab is not None else planned.length * planned.width if planned is not None else 0.0
    if area <= 0.0:
        return unloaded
    last = d.add("Read both faces", "read faces", 2.0 * area / _M2, (unloaded,), done=read)
    agreed = d.wait(
        "Client agrees to the drawings", waits["client"] * DAY, (last,), gate="sign-off", waits_for="client"
    )
    if slab is None:
        return agreed
    if slab.moisture.wait_low is not None and slab.moisture.wait_high:
        days = (slab.moisture.wait_low + slab.moisture.wait_high) / 2.0
        last = d.wait("Slab takes on the air of the shop", days * DAY, (last,))
    return _surfaced(d, job, parts, slab, [last, agreed])


def _surfaced(d: Drafts, job: Job, parts: PlanParts, slab: SlabPlan, after: list[str | None]) -> str | None:
    """Every clamping with its setting up; the rest, mending and pours where they belong."""
    cuts = cuttings(d, job, parts)
    made = job.stated.as_made is not None and job.stated.as_made.thickness is not None
    shown = [again.after for again in job.stated.rereadings] + [f"{c.after} {c.face}" for c in job.stated.checks]
    done_up_to = max(
        [at for at, cut in enumerate(cuts) if f"{cut.stage} {cut.face}" in shown], default=len(cuts) - 1 if made else -1
    )
    bed_kind = cuts[0].kind if cuts else ""
    rest = next((p for p in slab.procedures if p.chosen and p.days > 0.0), None)
    turning = lift_when(parts, "between the two faces")
    people = max([lift.people or 4 for lift in turning], default=2)
    rested = mended = False
    previous: Cutting | None = None
    for at, cut in enumerate(cuts):
        done = made or at <= done_up_to
        if cut.stage == "skim" and not mended:
            if rest is not None and not rested:
                after = _rested(d, job, slab, rest.days, after, done=done)
                rested = True
            after, mended = _mended(d, parts.finish, after, done=done), True
        if previous is None:
            stacks = sum(stack.carries for stack in slab.shims.stacks) if slab.shims is not None else 4
            after = [d.add("Set the slab on its stacks", "set on stacks", stacks, after, done=done)]
        elif cut.stage != previous.stage or cut.face != previous.face:
            does = "Slab back on the bed" if cut.stage != previous.stage else "Slab turned over"
            after = [d.add(f"{does}, to {cut.name.lower()[:-1]}{cut.face}", "lift", 1, after, people=people, done=done)]
        if bed_kind == "surface":
            after = [d.add(f"Set up to {cut.name.lower()[:-1]}{cut.face}", "clamp and zero", 1, after, done=done)]
        after = [d.add(cut.name, cut.kind, cut.amount, after, done=done)]
        previous = cut
    if not mended:
        after = _mended(d, parts.finish, after, done=False)
        after = _cut_again(d, job, parts, slab, cuts, after)
    return lifted(d, lift_when(parts, "after the last skim"), after, done=made) or (after[0] if after else None)


def _rested(
    d: Drafts, job: Job, slab: SlabPlan, days: float, after: list[str | None], *, done: bool
) -> list[str | None]:
    """The rest on stickers, and reading anew."""
    done = done or bool(job.stated.rereadings)
    lies = d.add("Slab onto stickers", "sticker", 1, after, done=done)
    rests = d.wait("Slab rests", days * DAY, (lies,), done=done)
    return [d.add("Read both faces again", "read faces", 2.0 * slab.survey.area / _M2, (rests,), done=done)]


def _mended(d: Drafts, finish: FinishPlan | None, after: list[str | None], *, done: bool) -> list[str | None]:
    """Mends and pours; each pour waits for the one before and for the mends of its places."""
    if finish is None:
        return after
    waits = d.table.waits
    by_place: dict[str, str] = {}
    for mend in finish.mending.mends:
        hours = mend.option(mend.chosen).hours
        if mend.chosen in _NO_WORK or hours <= 0.0:
            continue
        glued = waits["glue"] if "key" in mend.chosen else 0.0
        by_place[mend.name] = d.add(
            f"Mend {mend.name}: {mend.chosen}", "mend", 60.0 * hours, after, unattended=glued, done=done
        )
    resin, ends = finish.resin, list(by_place.values())
    for piece in finish.mending.let_in:
        ends.append(
            d.add(
                f"Let wood into {piece.name}",
                "mend",
                60.0 * piece.hours,
                ends[-1:] or after,
                unattended=waits["glue"],
                done=done,
            )
        )
    pours = resin.pours
    comes = None
    if pours:
        comes = d.wait("Epoxy comes in", waits["finish"] * DAY, gate="delivery", waits_for="epoxy", done=done)
    last: str | None = None
    for number, pour in enumerate(pours):
        if number + 1 < len(pours):
            wait = max(0.0, 60.0 * (pours[number + 1].start - pour.start) - pour.minutes)
        else:
            wait = 60.0 * resin.before_machining
        before = [by_place.get(place) for place in pour.places]
        last = d.add(
            f"Pour {pour.number}: {pour.sort} epoxy into {', '.join(pour.places)}",
            "pour epoxy",
            pour.minutes,
            [*(after if last is None else (last,)), comes if last is None else None, *before],
            unattended=wait,
            watched=d.table.watched_minutes if pour.mass >= d.table.watched_mass else 0.0,
            done=done,
        )
    return [*ends, last] if last is not None else (list(ends) or after)


def _cut_again(
    d: Drafts, job: Job, parts: PlanParts, slab: SlabPlan, cuts: Sequence[Cutting], after: list[str | None]
) -> list[str | None]:
    """In one go, passes that are cut once more when the epoxy is hard."""
    reruns = parts.finish.resin.rerun if parts.finish is not None and parts.finish.resin.pours else ()
    machine = job.shop.machine
    for rerun in reruns:
        area = sum(each.area for each in rerun.passes(slab.passes))
        sled = machine.kind == "sled"
        amount = area / _M2 if sled else area * d.table.air / (machine.stepover * machine.feed)
        if cuts and amount > 0.0:
            after = [d.add(f"Cut face {rerun.face} once more, epoxy hard", cuts[0].kind, amount, after)]
    return after


def top_operations(
    d: Drafts, job: Job, parts: PlanParts, board: str | None
) -> tuple[str | None, str | None, str | None]:
    """From the flat board to the machined top.

    Returns:
        The last operation; the one after which the finish board is signed; inserts that wait for the plates' marks (name of the
        operation that has still to be linked), each None where there is none.
    """
    top = parts.top
    if top is None:
        return board, None, None
    made = job.stated.as_made is not None and job.stated.as_made.length is not None
    last = d.add("Cut the top to length", "cut to length", 2.0 * top.width / _M, (board,), done=made)
    stated = job.stated.top
    if stated is not None and stated.ends.kind != "plain":
        ends = 2 if stated.ends.at == "both" else 1
        last = d.add(f"Make the {stated.ends.kind} ends", "boxed or mitred ends", ends, (last,))
    signed = _finish_board(d, parts, last)
    features: dict[str, list[TopFeature]] = {}
    for feature in top.features:
        features.setdefault(feature.kind, []).append(feature)
    last, marks = _features(d, job, parts, top, features, last)
    return last, signed, marks


def _finish_board(d: Drafts, parts: PlanParts, last: str) -> str | None:
    steps = parts.finish.preparation.steps if parts.finish is not None else ()
    step = next((step for step in steps if step.sign_off), None)
    if step is None:
        return None
    made = d.add("Make the finish board", step.name, 1.0, (last,), unattended=60.0 * step.wait)
    return d.wait(
        "Client signs the finish board", d.table.waits["client"] * DAY, (made,), gate="sign-off", waits_for="client"
    )


def _features(
    d: Drafts, job: Job, parts: PlanParts, top: TopPlan, features: dict[str, list[TopFeature]], last: str
) -> tuple[str, str | None]:
    """What is let into the top: by program where there is a gantry, else along templates."""
    cut_out = {"pocket", "insert", "through hole", "outlet", "bar", "channel", "key"} & set(features)
    by_program = parts.machine is not None and parts.machine.kind == "gantry"
    if cut_out and by_program:
        datums = len(job.stated.top.datums) if job.stated.top is not None else 0
        last = d.add("Clamp the top and touch off", "locate", max(3, datums), (last,))
    elif top.templates:
        ready = d.add("Make templates", "make template", len(top.templates), ())
        last = d.add("Mark out the top from both ends and the centre line", "locate", 3, (last, ready))
    by_hand = [f for f in features.get("insert", []) if f.name in top.by_hand]
    drilled = len(features.get("insert", [])) - len(by_hand)
    channels = sum(_run(feature) for feature in features.get("channel", [])) / _M
    worked = features.get("chamfer", []) + features.get("round", [])
    for name, kind, amount in (
        ("Cut the pockets", "pocket", float(len(features.get("pocket", [])))),
        ("Let in the steel", "let-in steel", float(len(features.get("bar", [])))),
        ("Let in the keys", "keys in the top", float(len(features.get("key", [])))),
        ("Cut the channels", "channel", channels),
        ("Drill for the inserts", "holes in wood", float(drilled)),
        (
            "Cut outlets and openings",
            "outlets and openings",
            float(len(features.get("outlet", [])) + len(features.get("through hole", []))),
        ),
        ("Work the edges", "work edges", _edges(parts, top) if worked else 0.0),
    ):
        if amount > 0.0:
            last = d.add(name, kind, amount, (last,))
    marks = None
    if by_hand:
        last = marks = d.add("Drill for inserts at the marks of their plates", "holes in wood", len(by_hand), (last,))
    if "insert" in features:
        waits = d.table.waits["hardware"] * DAY
        comes = d.wait("Inserts, bolts and levellers come in", waits, gate="delivery", waits_for="hardware")
        last = d.add("Set the inserts", "set inserts", len(features["insert"]), (last, comes))
    return last, marks


def _run(feature: TopFeature) -> float:
    """Length of a channel [mm]."""
    lengths = [float(solid.core.length) for solid in feature.solids if solid.core.geom_type == "LineString"]
    return max([*lengths, 0.0]) or max(feature.length or 0.0, feature.width or 0.0)


def _edges(parts: PlanParts, top: TopPlan) -> float:
    """Metres of worked edge."""
    surface = parts.finish.areas.named("eased edges") if parts.finish is not None else None
    return (surface.length if surface is not None and surface.length else 2.0 * (top.length + top.width)) / _M
