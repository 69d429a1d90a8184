"""The drill plan: each distinct plate to scale with its holes, openings in tubes, vents, and what is deburred."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.base.basing import BasePlan
from slabwright.base.drill_plan import DrillPlan, PlateDrill
from slabwright.findings import COMMON_PRACTICE
from slabwright.sheets import blocks
from slabwright.sheets.base_words import problems
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.drill_drawing import AlikePlates, hole_letters, plate_picture, plates_alike
from slabwright.sheets.top_words import mark, tape, text_height
from slabwright.sheets.words import Words, plain

_CODES = ("under-opening", "hole-at-edge", "holes-too-near", "bolt-over-tube", "opening-too-wide")
_ROW = 5.4
_PLATE = 120.0
_ROWS = 24
_WRENCH = (
    "Clamp the plate, never hold it: a drill or a hole saw that catches wrenches the wrist. Low speed, oil, both hands, side"
    " handle on; gloves off, eyes covered. Chips are sharp and hot: brush them off."
)


def drill_sheets(context: Context, plan: BasePlan) -> list[Sheet]:
    """A sheet for each distinct plate, then vents, openings in tubes and the deburr list."""
    drill = plan.drill
    if drill is None:
        return []
    sheets = [sheet for alike in plates_alike(drill.plates) for sheet in _plate_sheets(context, plan, alike)]
    return [*sheets, *_list_sheets(context, drill)]


def _plate_sheets(context: Context, plan: BasePlan, alike: AlikePlates) -> list[Sheet]:
    words, paper, plate = context.words, context.paper, alike.plate
    rows = _hole_rows(plate, words)
    title = f"Drill plan: {alike.names[0]}" if len(alike.names) == 1 else f"Drill plan: {len(alike.names)} off"
    lead = (
        f"{tape(plate.width, words)} x {tape(plate.length, words)} x {tape(plate.thickness, words)}, seen from above: "
    )
    lead += ", ".join(alike.names)
    head = ["", "Hole", "Along", "Across", "From near end", "Size", "To the edge", "Punched", "Made"]

    def table(some: Sequence[Sequence[str]]) -> Block:
        return blocks.table(head, "llrrrrrcc", some, wide=(1,), pad=2.0)

    notes = _notes(alike, _lies(plan, words))
    text: list[list[Block]] = [
        [blocks.steps(_steps(words))],
        [*[blocks.text(note) for note in notes], *problems(context, _CODES, 2)],
        [blocks.voice("care", _WRENCH, source=COMMON_PRACTICE)],
    ]
    below = text_height(context, text) + 4.0
    tabled = _ROW * (len(rows) + 1) + 5.0
    drawn = plate_picture(plate, paper.inner_width, min(_PLATE, max(paper.inner_height - tabled - below, 62.0)), words)
    if drawn.height + tabled + below <= paper.inner_height:
        return [Sheet(title, lead, [blocks.picture(drawn), table(rows)], text, "wide")]
    larger = plate_picture(plate, paper.inner_width, min(paper.inner_height - below - 4.0, 120.0), words)
    sheets = [Sheet(title, lead, [blocks.picture(larger)], text, "wide")]
    return [
        *sheets,
        *(
            Sheet(f"{title}, holes{number}", lead, [table(rows[start : start + _ROWS])], [[]], "wide")
            for start, number in _numbered(len(rows), _ROWS)
        ),
    ]


def _hole_rows(plate: PlateDrill, words: Words) -> list[tuple[str, ...]]:
    names = hole_letters(plate)
    rows = []
    for hole, name in zip(plate.holes, names, strict=False):
        is_round = abs(hole.length - hole.width) < 0.05
        size = f"Ø {mark(hole.width, words)}" if is_round else f"{mark(hole.length, words)} x {mark(hole.width, words)}"
        rows.append(
            (
                int(name),
                name,
                plain(hole.name, 34),
                hole.along,
                hole.across,
                size if is_round else f"slot {size}",
                hole.edge,
            )
        )
    for opening, name in zip(plate.openings, names[len(plate.holes) :], strict=True):
        edge = min(
            plate.width / 2 - abs(opening.along) - opening.diameter / 2,
            plate.length / 2 - abs(opening.across) - opening.diameter / 2,
        )
        rows.append(
            (int(name), name, plain(f"cable: {opening.name}", 34), opening.along, opening.across,
             f"Ø {mark(opening.diameter, words)}", edge)
        )  # fmt: skip
    return [
        (name, said, mark(along, words), mark(across, words), mark(plate.length / 2 + across, words), size,
         words.fine(edge), "[box]", "[box]")
        for _, name, said, along, across, size, edge in sorted(rows)
    ]  # fmt: skip


def _steps(words: Words) -> list[str]:
    return [
        f"Mark the middle both ways with a scriber on layout blue; scribe every place from it, in {words.unit_word}.",
        "Check each against its distance from the near end. Punch. Drill a pilot, then to size.",
        "Slots: both ends drilled, then filed, sawn or milled between them; the bolt must slide by its own weight.",
    ]


def _lies(plan: BasePlan, words: Words) -> str:
    """Where the middles of the plates lie on the underside."""
    half = plan.structure.top.length / 2.0
    told = " and ".join(tape(half + plate.x, words) for plate in plan.drawn.plates)
    unstated = " No insert is stated: slabwright check says how." if plan.inserts_to_paste else ""
    return f" On the top: middles {told} from its left end.{unstated}" if told else ""


def _notes(alike: AlikePlates, where: str) -> list[str]:
    notes = [f"Along: from the middle, towards the right end +. Across: towards the far edge +.{where}"]
    if len(alike.names) > 1:
        notes.append(f"{len(alike.names)} off: {', '.join(alike.names)}. Drilled together, clamped, all alike up.")
    if alike.turned:
        notes.append(f"Then turned over about its length: {', '.join(alike.turned)}. Mark which side is up.")
    if any(abs(hole.shift) >= 0.05 for hole in alike.plate.holes):
        notes.append("A slot's middle is not its bolt: it is set over by what the wood will move.")
    notes.append("A full-size drawing of each plate for a cutter: folder plates.")
    return notes


def _list_sheets(context: Context, drill: DrillPlan) -> list[Sheet]:
    """Vents, openings in tubes, and everything to deburr."""
    words = context.words
    left: list[Block] = []
    if drill.vents:
        rows = [
            (plain(vent.place, 90), f"Ø {tape(vent.diameter, words)}", words.chips(vent.volume), "[box]")
            for vent in drill.vents[:_ROWS]
        ]
        left += [
            blocks.table(
                ["Vent, before the last seam", "Drill", "Air shut in", "Done"], "lrrc", rows, wide=(0,), pad=2.2
            )
        ]
        if len(drill.vents) > _ROWS:
            left.append(blocks.text(f"{len(drill.vents) - _ROWS} more vents: in the list of what is deburred."))
    if drill.feet:
        left += _feet(drill, words)
    openings = [*drill.openings, *(opening for plate in drill.plates for opening in plate.openings)]
    if openings:
        said = [
            (
                plain(opening.name, 24),
                plain(opening.through, 22),
                f"Ø {mark(opening.diameter, words)}",
                f"{mark(opening.along, words)}, {mark(opening.across, words)}",
                "[box]",
            )
            for opening in openings[:10]
        ]
        left += [
            blocks.heading("Openings for cables"),
            blocks.table(["Cable", "Through", "Hole", "Along, across", "Done"], "llrrc", said, wide=(0,), pad=2.2),
            blocks.text(f"Edges: {openings[0].protect}."),
            blocks.text(
                "Of a plate: from its middle. Of a tube: along from its first end, across from its middle line."
            ),
        ]
    if not left:
        left = [blocks.text("No tube is shut in: nothing to vent. No cable goes through the steel.")]
    left += [
        blocks.text(
            "A tube that is welded shut bursts or blows the last seam out: vent first, tap or plug it after painting."
        ),
        blocks.voice("care", _WRENCH, source=COMMON_PRACTICE),
    ]
    deburr = list(drill.deburr)
    sheets = []
    first = deburr[:_FIRST]
    right: list[Block] = [blocks.heading("Deburr"), blocks.checks(_told(first))]
    sheets.append(
        Sheet(
            "Vents, openings, deburring",
            "Tick each when it is done.",
            [blocks.side_by_side([left, right])],
            [[]],
            "wide",
        )
    )
    for start, number in _numbered(len(deburr), 2 * _FIRST, _FIRST):
        some = deburr[start : start + 2 * _FIRST]
        columns = [[blocks.checks(_told(part))] for part in (some[:_FIRST], some[_FIRST:]) if part]
        sheets.append(Sheet(f"Deburring, more{number}", "Tick each when it is done.", [], columns, "wide"))
    return sheets


_FIRST = 15


def _numbered(count: int, each: int, first: int = 0) -> list[tuple[int, str]]:
    """Where each sheet of a long list starts, and what is added to its title."""
    return [(start, f", {k + 1}" if k else "") for k, start in enumerate(range(first, count, each))]


def _feet(drill: DrillPlan, words: Words) -> list[Block]:
    """Threads for the levellers: alike ones together."""
    first = drill.feet[0]
    rows = [
        (plain(foot.foot, 12), plain(foot.into, 34), foot.thread, f"Ø {words.fine(foot.hole)}", words.fine(foot.thickness),
         tape(foot.from_end, words) if foot.from_end > 0.0 else "middle", "[box]")
        for foot in drill.feet
    ]  # fmt: skip
    return [
        blocks.heading("Threads for the levellers"),
        blocks.table(
            ["Foot", "Into", "Thread", "Drill", "Thick", "From end", "Done"], "lllrrrc", rows, wide=(1,), pad=2.0
        ),
        blocks.text(f"{first.make[:1].upper()}{first.make[1:]}."),
    ]


def _told(items: Sequence[str]) -> list[str]:
    return [f"{item[:1].upper()}{item[1:]}" for item in items]
