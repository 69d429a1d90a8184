"""The cut list: saw stops, lengths drawn like tapes, the parts, steel to order and offcuts to keep."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.base.basing import BasePlan
from slabwright.base.cut_list_results import CutList, CutPart
from slabwright.quantities import format_mass
from slabwright.sheets import blocks
from slabwright.sheets.base_cut_drawing import CARD, TAPE, stop_card, tape_drawing
from slabwright.sheets.base_words import cut_length, mitre_words, problems, steel_name
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.top_words import text_height
from slabwright.sheets.words import Words, plain

_ACROSS, _GAP = 3, 3.0
_BETWEEN = 3.2
_ROWS = 24
"""Of parts on a sheet of their own."""
_ROW = 6.0
"""Height of a row with a box to tick [mm]."""
_ORDER = 9
_CODES = ("longer-than-stock", "mitre-beyond-saw", "wider-than-saw")


def cut_sheets(context: Context, plan: BasePlan) -> list[Sheet]:
    """Saw stops and tapes on as many sheets as they want, then parts, order, offcuts and cautions."""
    cuts = plan.cut_list
    if cuts is None:
        return []
    words, paper = context.words, context.paper
    lead = f"{cuts.cuts} cuts of {words.fine(cuts.kerf)}. Lengths to the long points; between parallel cuts, along the face."
    sheets: list[Sheet] = []
    drawn: list[Block] = []
    used = 0.0
    for high, block in _drawings(cuts, paper.inner_width, words):
        if used + high > paper.inner_height - 6.0 and drawn:
            sheets.append(_sheet("Saw stops and lengths", lead, drawn, len(sheets)))
            drawn, used = [], 0.0
        drawn.append(block)
        used += high
    sheets.append(_sheet("Saw stops and lengths", lead, drawn, len(sheets)))
    return [*sheets, *_list_sheets(context, cuts)]


def _sheet(title: str, lead: str, drawn: list[Block], number: int) -> Sheet:
    return Sheet(title if number == 0 else f"{title}, {number + 1}", lead, drawn, [[]], "wide")


def _drawings(cuts: CutList, width: float, words: Words) -> list[tuple[float, Block]]:
    """Rows of cards and tapes with the height that each wants."""
    each = (width - (_ACROSS - 1) * _GAP) / _ACROSS
    cards = [stop_card(stop, each, words) for stop in cuts.stops]
    found: list[tuple[float, Block]] = [
        (CARD + _BETWEEN, blocks.cards(cards[start : start + _ACROSS], _ACROSS, _GAP))
        for start in range(0, len(cards), _ACROSS)
    ]
    longest = max((length.length for length in cuts.lengths), default=1.0)
    for length in cuts.lengths:
        tape = tape_drawing(length, cuts.parts, width, longest, cuts.kerf, words)
        found.append((TAPE + _BETWEEN, blocks.picture(tape)))
    return found


def _list_sheets(context: Context, cuts: CutList) -> list[Sheet]:
    words = context.words
    rows = [
        (
            str(number),
            plain(part.name, 30),
            steel_name(part.section, words),
            str(part.count),
            *_lengths(part, words),
            mitre_words(part.mitres, part.cuts),
            cut_length(part.stop, words) if part.rough > part.long_points else "as finished",
            format_mass(part.mass, words.units),
            "[box]",
        )
        for number, part in enumerate(cuts.parts, start=1)
    ]
    head = ["No.", "Part", "Steel", "Count", "Long points", "Short points", "Mitres", "Saw to", "Each", "Cut"]
    align = "rllrrrlrrc"

    def parts(some: Sequence[Sequence[str]]) -> Block:
        return blocks.table(head, align, some, wide=(1,), pad=2.4)

    lead = "The count is for the whole base. Deburr every end."
    order, kept = _order(cuts, words), _offcuts(cuts, words)
    saw = [*problems(context, _CODES, 2), *_steps(cuts)]
    text = [[blocks.side_by_side([order, saw])], [*kept, blocks.caution("sawing steel")]]
    if text_height(context, text) + _ROW * (len(rows) + 1.5) <= context.paper.inner_height:
        return [Sheet("Cut list", lead, [parts(rows)], text, "wide", joins=True)]
    sheets = [
        _sheet("Cut list", lead, [parts(rows[start : start + _ROWS])], start // _ROWS)
        for start in range(0, len(rows), _ROWS)
    ]
    return [*sheets, Sheet("Steel to order", "With the cut list before it.", [], text, "wide", joins=True)]


def _lengths(part: CutPart, words: Words) -> tuple[str, str]:
    """Long and short points; of parallel cuts the face, which is as long all round."""
    face = cut_length(part.short_points, words)
    return (f"{face} face", face) if part.cuts == "parallel" else (cut_length(part.long_points, words), face)


def _order(cuts: CutList, words: Words) -> list[Block]:
    proven = {proof.section: proof.proven for proof in cuts.proofs}
    rows = [
        (
            f"{each.count} × {cut_length(each.length, words)}",
            steel_name(each.section, words, 20) + ("" if proven.get(each.section, False) else "*"),
            words.money(each.price),
        )
        for each in cuts.bought[:_ORDER]
    ]
    found: list[Block] = [
        blocks.heading("Steel to order"),
        blocks.table(["Lengths", "Steel", "Price"], "llr", rows, pad=2.4),
    ]
    found.append(
        blocks.text(
            "Black steel, not galvanised: zinc fumes when it is welded. No chlorinated cleaner (phosgene near an arc)."
        )
    )
    yard = [each for each in cuts.bought if each.yard_cuts]
    for each in yard[:2]:
        into = ", ".join(cut_length(part, words) for part in each.yard_cuts)
        found.append(blocks.text(f"{steel_name(each.section, words)}: have the yard cut each into {into}."))
    if all(proven.get(each.section, False) for each in cuts.bought):
        found.append(blocks.text("Proven: no plan needs fewer lengths, or costs less where prices are stated."))
    else:
        found.append(blocks.text("* Not proven the cheapest: slabwright why base.cut_list.proofs says how near it is."))
    if len(cuts.bought) > _ORDER:
        found.append(blocks.text(f"{len(cuts.bought) - _ORDER} more: plan.json, base.cut_list.bought."))
    return found


def _offcuts(cuts: CutList, words: Words) -> list[Block]:
    if not cuts.offcuts:
        return [blocks.text("No offcut is long enough to keep.")]
    rows = [
        (f"{each.count} × {cut_length(each.length, words)}", steel_name(each.section, words, 20), "[box]")
        for each in cuts.offcuts[:_ORDER]
    ]
    found: list[Block] = [
        blocks.table(["Offcuts to keep", "Steel", "Kept"], "llc", rows, pad=2.4),
    ]
    if len(cuts.offcuts) > _ORDER:
        found.append(blocks.text(f"{len(cuts.offcuts) - _ORDER} more: plan.json, base.cut_list.offcuts."))
    return found


def _steps(cuts: CutList) -> list[Block]:
    steps = [
        "Square the first end of each length. Stop set by a tape to the long points (parallel cuts: along the face); cut one,"
        " measure it, then the rest.",
        "Cut in the order of the tapes, from the left. Where two opposed mitres share a cut, turn the steel over; parallel cuts:"
        " push on, do not turn.",
        "Number each piece, deburr inside and out, scale off where it is welded.",
    ]
    found: list[Block] = [blocks.heading("At the saw"), blocks.steps(steps)]
    found += [
        blocks.text(f"{each.part[:1].upper()}{each.part[1:]}, wider than the saw reaches. {each.how}")
        for each in cuts.two_pass[:2]
    ]
    return found
