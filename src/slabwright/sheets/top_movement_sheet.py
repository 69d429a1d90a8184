"""How the top moves: width, slots, pockets, ends and cup, on one sheet."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from slabwright.job.top_models import Pocket
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.picture import GREAT, TEXT, THICK, THIN, Picture, path_of, text_width
from slabwright.sheets.top_words import called, mark, numbers, problems, stated
from slabwright.sheets.words import Words
from slabwright.top.movement import Movement
from slabwright.top.results import TopPlan
from slabwright.top.slots import Slot

_BARS = 31.0
_CARD, _TALL = 41.5, 62.0
"""Height of a card, and of one that has the page to itself [mm]."""
_GAP = 3.0
_SAID = 24.0
"""Of a card that is words [mm]."""
_IN_A_ROW = 6
_POCKETS = 4
_CODES = ("cups", "cup-held", "pith-inside", "slot-leaves-plate", "washer-too-small", "fixed-twice", "key-too-long",
          "rings-unknown", "fixed-by-default", "movement-unknown")  # fmt: skip


def movement_sheets(context: Context, plan: TopPlan) -> list[Sheet]:
    """The movement on one sheet; further slots on another. None where the movement is not known."""
    about = plan.movement
    if about is None:
        return []
    words, paper = context.words, context.paper
    groups = alike(plan.slots)
    number = numbers(plan)
    across = max(min(len(groups), _IN_A_ROW), 4)
    width = (paper.inner_width - (across - 1) * _GAP) / across
    high = _TALL if len(groups) <= _IN_A_ROW else _CARD
    scale = slot_scale(plan.slots, width, high)
    cards = [slot_card(group, [number[s.name] for s in group], (width, high), scale, words) for group in groups]
    here, later = cards[: 2 * _IN_A_ROW], cards[2 * _IN_A_ROW :]
    picture: list[Block] = [blocks.picture(width_bars(about, plan.width, paper.inner_width, words))]
    if here:
        picture.append(blocks.cards(here, across, _GAP))
    seasons = f"{about.moisture_dry:.1f} % in the driest season, {about.moisture_damp:.1f} % in the dampest"
    lead = f"Made at {about.moisture_made:.1f} % moisture; {seasons}."
    title = "Movement"
    sheets = [Sheet(title, lead, picture, _text(context, plan, about), "wide", joins=True)]
    rows = int((paper.inner_height - 4.0) / (_CARD + _GAP))
    each = rows * _IN_A_ROW
    for start in range(0, len(later), each):
        more: list[Block] = [blocks.cards(later[start : start + each], _IN_A_ROW, _GAP)]
        sheets.append(
            Sheet(f"{title}, more slots", "The hole in the plate for each bolt, before paint.", more, [[]], "wide")
        )
    return sheets


def signed(mm: float, words: Words) -> str:
    """A change with its sign, without its unit."""
    said = words.number(mm)
    return f"+{said}" if mm > 0 and not said.startswith("−") and float(said) != 0.0 else said


def width_bars(about: Movement, width: float, page: float, words: Words) -> Picture:
    """The width damp, as made and dry, one below the other; what it changes by is drawn far too large."""
    drawing = Picture(page, _BARS)
    most = max(abs(about.width_change_dry), abs(about.width_change_damp), 1e-9)
    left, right, step = 36.0, page - 118.0, 7.0
    rows = (
        ("dampest season", about.width_change_damp, about.width_change_damp_low, about.width_change_damp_high),
        ("as made", None, 0.0, 0.0),
        ("driest season", about.width_change_dry, about.width_change_dry_low, about.width_change_dry_high),
    )
    share = (about.fixed_at + width / 2) / width
    for k, (name, change, low, high) in enumerate(rows):
        y = 1.0 + 10.2 * k
        grown = 0.0 if change is None else change / most * step
        x0, x1 = left - share * grown * 2, right + (1 - share) * grown * 2
        corners = [(x0, y), (x1, y), (x1, y + 8.0), (x0, y + 8.0)]
        drawing.polygon(corners, weight=THICK, fill=WOOD)
        drawing.hatch(path_of(corners, close=True), (x0, y, x1, y + 8.0), step=3.2, stroke=SOFT)
        middle = left + 0.27 * (right - left)
        wide = text_width(name) + 4.0
        drawing.rectangle(middle - wide / 2, y + 1.6, wide, 4.8, fill=PAPER, weight=0.0)
        drawing.text(middle, y + 5.3, name, anchor="middle", weight=600)
        at = right + 22.0
        if change is None:
            drawing.text(at, y + 5.6, f"{words.fine(width)} across at its widest", weight=600)
        else:
            said = signed(change, words)
            drawing.text(at, y + 7.6, said, size=GREAT, weight=700)
            beside = at + 0.52 * GREAT * len(said) + 2.0
            drawing.text(beside, y + 3.4, f"width, {words.unit}")
            drawing.text(beside, y + 7.6, f"likely {signed(low, words)} to {signed(high, words)}", fill=SOFT)
    fixed = left + share * (right - left)
    drawing.line(fixed, 0.0, fixed, _BARS, dash="5 1 1 1", stroke=CHOSEN)
    drawing.text(1.0, 6.0, "near edge", fill=SOFT)
    drawing.text(1.0, 26.4, "not to scale", fill=SOFT)
    return drawing


def alike(slots: Sequence[Slot]) -> list[list[Slot]]:
    """Slots that are cut alike, together, in their order."""
    groups: dict[tuple[object, ...], list[Slot]] = {}
    for slot in slots:
        key = (
            slot.fixed,
            round(slot.length, 3),
            round(slot.width, 3),
            round(slot.shift, 3),
            slot.bolt,
            slot.washer_outer,
        )
        groups.setdefault(key, []).append(slot)
    return list(groups.values())


def slot_scale(slots: Sequence[Slot], width: float, card: float) -> float:
    """Page mm for each mm of slot: as large as the longest and its washer let it be, and one scale for all."""
    long = max((max(slot.length, (slot.washer_outer or 0.0)) for slot in slots), default=10.0)
    high = max((max(slot.width, slot.washer_outer or 0.0) for slot in slots), default=10.0)
    return min((width - 8.0) / (long + 4.0), (card - _SAID) / high)


def slot_card(
    group: Sequence[Slot], named: Sequence[int], size: tuple[float, float], scale: float, words: Words
) -> Picture:
    """A slot drawn large: near edge at the left, the bolt where it sits when the top is made."""
    slot = group[0]
    width, high = size
    card = Picture(width, high)
    fit = int((width - 1.0) / (0.42 * TEXT))
    foot = high - 13.6
    names = ", ".join(str(n) for n in named[:6]) + ("…" if len(named) > 6 else "")
    card.text(0.0, 4.0, textwrap.shorten(f"{names} {called(slot.name, 30)}", fit, placeholder="…"), weight=700)
    middle, y = width / 2, (5.0 + foot - 4.6) / 2 + 0.8
    bolt = middle - scale * slot.shift
    half_l, half_w = scale * slot.length / 2, scale * slot.width / 2
    if slot.washer_outer:
        card.circle(bolt, y, scale * slot.washer_outer / 2, stroke=SOFT, dash="1.4 0.8", fill="#F1F1EE")
    card.path(_rounded(middle, y, half_l, half_w), weight=THICK, fill=PAPER)
    radius = scale * slot.bolt / 2
    if not slot.fixed:
        for moved in (slot.movement_low, slot.movement_high):
            card.circle(bolt + scale * moved, y, radius, stroke=SOFT, weight=THIN, dash="0.8 0.6")
    card.circle(bolt, y, radius, fill=INK)
    for x, ink in ((middle, CHOSEN), (bolt, INK)):
        card.line(x, y - half_w - 1.6, x, y + half_w + 1.6, weight=THIN, stroke=ink, dash="2 0.6 0.6 0.6")
    card.line(middle - half_l - 2.0, y, middle + half_l + 2.0, y, weight=THIN, stroke=SOFT)
    card.text(0.0, foot - 5.0, "near", fill=SOFT)
    card.text(width, foot - 5.0, "far", fill=SOFT, anchor="end")
    length, across = words.number(slot.length), words.number(slot.width)
    said = f"Ø {across}" if length == across else f"{length} x {across}"
    card.text(middle, foot + 0.6, said, anchor="middle", weight=700, size=1.25 * TEXT)
    for k, line in enumerate(_about(slot, words)):
        card.text(0.0, foot + 6.0 + 4.4 * k, textwrap.shorten(line, fit, placeholder="…"))
    return card


def _rounded(x: float, y: float, half_l: float, half_w: float) -> str:
    """A slot with round ends as path data."""
    a = max(half_l - half_w, 0.0)
    w = half_w
    round_end = f"A{w:.2f} {w:.2f} 0 0 1"
    left, right, top, foot = f"{x - a:.2f}", f"{x + a:.2f}", f"{y - w:.2f}", f"{y + w:.2f}"
    return f"M{left} {top}H{right}{round_end} {right} {foot}H{left}{round_end} {left} {top}Z"


def _about(slot: Slot, words: Words) -> list[str]:
    if slot.fixed:
        first = "fixed: does not slide"
    elif abs(slot.shift) < 0.005:
        first = "middle on the bolt"
    else:
        first = f"middle {words.number(abs(slot.shift))} {'far' if slot.shift > 0 else 'near'} of bolt"
    washer = (
        f"washer Ø {words.number(slot.washer_outer)}"
        if slot.washer_outer is not None
        else (f"washer Ø {words.number(slot.washer_least)} up")
    )
    return [first, f"{washer}, {'firm' if slot.fixed else 'snug'}"]


def _text(context: Context, plan: TopPlan, about: Movement) -> list[list[Block]]:
    first = [*_pocket_table(context, plan), *_places(context, plan)]
    if plan.slots:
        steps = [
            "Slots across the grain, cut to these sizes before paint. Blue: the slot's middle; black: the bolt as made.",
            "Bolt up with the washer across the slot: the fixed bolt firmly, the others snug, so that they slide.",
            "Made at another moisture: state top.moisture_made and print this sheet again.",
        ]
    else:
        steps = ["Hold the top so that it can move: slots or buttons across the grain, one fixed line along its middle.",
                 "Made at another moisture: state top.moisture_made and print this sheet again."]  # fmt: skip
    slots = "" if plan.slots else "no slots and "
    first = first or [blocks.text(f"No plate is let in, so there are {slots}no pockets to give room.")]
    last = [*_ends(context, plan), *_flat(context, plan)]
    return [first, [blocks.steps(steps), blocks.checks(_ticks(plan))], last]


def _ticks(plan: TopPlan) -> list[str]:
    said = ["Both faces, walls and floors finished alike, same coats"]
    return [f"Moisture read again on the day: at {plan.movement.moisture_made:.1f} %" if plan.movement else "", *said]


def _pocket_table(context: Context, plan: TopPlan) -> list[Block]:
    if not plan.pockets:
        return []
    words, asked = context.words, stated(context)
    left = {feature.name: feature.wood_left for feature in plan.features}
    rows = []
    for room in plan.pockets[:_POCKETS]:
        plate = asked[room.name]
        assert isinstance(plate, Pocket)
        wood = left[room.name]
        rows.append([
            f"{numbers(plan)[room.name]} {called(room.name, 13)}",
            f"{_told(room.opening_length, words)} x {_told(room.opening_width, words)}",
            f"{words.number(room.near)}, {words.number(room.far)}",
            "" if wood is None else words.number(wood),
        ])  # fmt: skip
    said = "Room for the plate along the grain: "
    said += f"{words.fine(min(room.along_each for room in plan.pockets))} at each end (jig rule, common practice)."
    more = len(plan.pockets) - len(rows)
    if more:
        said += f" {more} more pockets: openings in the feature table."
    return [
        blocks.table(["Pocket", "Opening", "Room near, far", "Wood left"], "lrrr", rows, pad=2.4),
        blocks.text(said),
    ]


def _told(mm: float, words: Words) -> str:
    """As the feature table has it; inches in thousandths, as they are shorter."""
    return mark(mm, words) if words.metric else words.number(mm)


def _places(context: Context, plan: TopPlan) -> list[Block]:
    """What moves without being held."""
    if not plan.places:
        return []
    words = context.words
    most = max(plan.places, key=lambda each: max(abs(each.low), abs(each.high)))
    if all(float(signed(mm, words).replace("−", "-")) == 0.0 for mm in (most.dry, most.damp)):
        return []
    return [
        blocks.text(
            f"Other holes move too, {called(most.name)} the most: {signed(most.dry, words)} dry, {signed(most.damp, words)} damp "
            f"({words.unit}, to the far edge positive)."
        )
    ]


def _ends(context: Context, plan: TopPlan) -> list[Block]:
    words, box, mitre = context.words, plan.boxed_end, plan.mitre_gap
    if box is not None:
        dry, damp = max((box.near_dry, box.far_dry), key=abs), max((box.near_damp, box.far_damp), key=abs)
        return [
            blocks.text(
                f"Boxed ends: the edge stands {_proud(dry, words)} of the end piece dry, {_proud(damp, words)} damp. "
                f"Glue the fixed pin alone; slots of the outermost pins: {words.fine(box.pin_slot)} longer than the pin in all."
            )
        ]
    if mitre is not None:
        return [
            blocks.text(
                f"Mitred ends: the joint opens {_opens(mitre.dry, words)} dry, {_opens(mitre.damp, words)} damp, "
                "members of the top's wood."
            )
        ]
    return []


def _proud(mm: float, words: Words) -> str:
    return f"{words.fine(abs(mm))} {'proud' if mm >= 0 else 'short'}"


def _opens(mm: float, words: Words) -> str:
    return f"{words.fine(abs(mm))} at its {'inside' if mm >= 0 else 'outside'} corner"


def _flat(context: Context, plan: TopPlan) -> list[Block]:
    flat, words = plan.staying_flat, context.words
    if flat is None:
        return []
    said = f"Left free it cups by {words.fine(flat.cup_least)} to {words.fine(flat.cup_most)} over its width (an estimate)."
    found: list[Block] = [blocks.text(said)]
    if flat.stated:
        held = max(flat.stated, key=lambda each: each.cup_left)
        worst = f"What is let in leaves {words.fine(held.cup_left)} of it; {words.fine(flat.allowed)} is let pass."
        found.append(blocks.text(worst) if all(each.holds for each in flat.stated) else blocks.voice("care", worst))
    elif flat.cup_most > flat.allowed:
        found.append(
            blocks.voice("care", f"More than the {words.fine(flat.allowed)} that is let pass, and nothing holds it.")
        )
    if flat.take is not None:
        found.append(blocks.text(f"{flat.take[:1].upper()}{flat.take[1:]} across the grain would hold it."))
    found.append(
        blocks.text(
            f"Finish both faces alike: each percent between them cups it by {words.fine(flat.cup_one_face)} (an estimate)."
        )
    )
    return [*found, *problems(context, [code for code in _CODES if code not in ("cups", "cup-held")], 1)]
