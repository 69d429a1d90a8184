"""Locating: how the top lies on the machine, where to go before the first cut, the features' files; or what to touch first."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.findings import Finding
from slabwright.machine.dry_run import DryRunPoint, candidate_datums
from slabwright.machine.feature_programs import FeatureProgram
from slabwright.machine.located import DatumOff, FaceUp, Located
from slabwright.machine.locating import Locating, face_to_cut
from slabwright.machine.registration import Candidate
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.locating_drawing import TOUCH_WORDS, clear_of, draw_located, draw_places, shapes_of
from slabwright.sheets.machine_words import minutes
from slabwright.sheets.top_words import mark
from slabwright.sheets.words import Words, plain
from slabwright.top.results import TopPlan

_PICTURE, _PLACES = 82.0, 84.0
"""Heights of the drawings [mm]."""
_ROWS_BESIDE, _ROWS_ALONE = 14, 21
_DATUMS = 5
_FILES, _FILES_WITH_DRAWING = 10, 5
_FILES_PICTURE = 52.0
_MOST_TO_TOUCH = 12
_LONGEST = 18
_PIN_FROM_END, _PIN_STEP, _PIN_CLEAR = 60.0, 20.0, 30.0
"""Pin holes: from the end at least, tried every so far, and clear of what is cut [mm]. Common practice."""


def locating_sheets(context: Context) -> list[Sheet]:
    """The sheets of locating; what to touch first where nothing was touched yet, none where a machine cuts no feature."""
    plan = context.plan
    top, machine = plan.top, plan.machine
    if top is None or machine is None or not any(feature.solids for feature in top.features):
        return []
    if machine.locating is not None:
        return _found(context, top, machine.locating)
    return [_touch_first(context, top)] if machine.kind == "gantry" else []


def _found(context: Context, top: TopPlan, lying: Locating) -> list[Sheet]:
    located = lying.located
    rows = [_dry_row(point, context.words) for point in lying.dry_run]
    head = ["", "Go to", "x", "y", "within", "what", ""]

    def table(part: Sequence[Sequence[str]]) -> Block:
        return blocks.table(head, "llrrrlc", part, pad=2.6)

    # A feature's file that was refused stops it as well.
    go = located.go and not any(finding.severity == "stop" for finding in _said(context))
    run = {point.name: f"{point.number}" for point in lying.dry_run} if located.go else {}
    drawing = draw_located(context, top, located, context.paper.picture_width, _PICTURE, run, go)
    below = blocks.side_by_side(
        [
            [*_verdict(context, lying), _datums(located, context.words)],
            [blocks.steps(_before_the_first_cut(context, top, located))],
        ]
    )
    told = blocks.text(f"Before the first cut, cutter still. Machine figures in {context.words.unit_word}.")
    lead = f"{_lying_words(located, context.words)} Seen from above."
    if not located.go:
        beside = [
            blocks.text("Of each feature, 99 times in 100."),
            _errors(located, context.words),
            blocks.caution("machine"),
        ]
        return [Sheet("Locating", lead, [blocks.picture(drawing), below], [beside], "side")]
    beside = [told, table(rows[:_ROWS_BESIDE]), blocks.caution("machine")]
    sheets = [Sheet("Locating", lead, [blocks.picture(drawing), below], [beside], "side")]
    for start in range(_ROWS_BESIDE, len(rows), 2 * _ROWS_ALONE):
        halves = [rows[at : at + _ROWS_ALONE] for at in (start, start + _ROWS_ALONE)]
        columns = [[table(half)] if half else [] for half in halves]
        sheets.append(Sheet("Locating, more places", lead, [told], columns, "wide"))
    return [*sheets, *_file_sheets(context, top, lying)]


def _lying_words(located: Located, words: Words) -> str:
    way = "counterclockwise" if located.turn >= 0.0 else "clockwise"
    at = ", ".join(f"{axis} {words.number(mm, 2)}" for axis, mm in (("x", located.shift_x), ("y", located.shift_y)))
    return f"Turned {abs(located.turn):.3f}° {way}; middle of the left end at {at}."


def _dry_row(point: DryRunPoint, words: Words) -> list[str]:
    x, y = words.number(point.x, 2), words.number(point.y, 2)
    if point.kind == "edge along":
        x = f"({x})"
    if point.kind == "edge across":
        y = f"({y})"
    within = words.number(point.within, 2)
    return [f"{point.number}", plain(point.name, _LONGEST), x, y, within, TOUCH_WORDS[point.kind], "[box]"]


def _verdict(context: Context, lying: Locating) -> list[Block]:
    """Go or no go, with the reason, and why there are no files yet."""
    located, words = lying.located, context.words
    stops = _said(context)
    said: list[Block] = []
    if located.go and located.features:
        worst = max(located.features, key=lambda feature: feature.most / max(feature.clearance, 1e-9))
        said.append(
            blocks.voice(
                "go",
                f"Every feature fits its room. The tightest, '{plain(worst.name, _LONGEST)}', is off by at most "
                f"{words.finer(worst.most)} (99 times in 100); it has {words.finer(worst.clearance)}.",
            )
        )
    said += [blocks.problem(finding) for finding in stops[:1]]
    if len(stops) > 1:
        said.append(blocks.text(f"{len(stops) - 1} more: see slabwright check."))
    if located.go and not lying.programs and not any(f.severity == "stop" for f in stops):
        said.append(
            blocks.text("No files yet: measure the board's thickness, state it as thickness in [as_made], plan again.")
        )
    return said


def _said(context: Context) -> list[Finding]:
    """What the plan says of locating and the features' files, stops first; no notes."""
    codes = ("locating/", "machine/feature-", "machine/no-board-under")
    found = [f for f in context.plan.findings if f.code.startswith(codes) and f.severity != "note"]
    return sorted(found, key=lambda finding: finding.severity != "stop")


def _datums(located: Located, words: Words) -> Block:
    """The touched places and what they are off by, the worst first."""
    order = sorted(located.datums, key=_off, reverse=True)[:_DATUMS]
    rows = [
        [
            plain(datum.name, _LONGEST) + (" (odd)" if datum.odd else ""),
            *("" if off is None else words.number(off, 2) for off in (datum.off_along, datum.off_across)),
            "unchecked" if datum.off_most is None else words.number(datum.off_most, 2),
        ]
        for datum in order
    ]
    return blocks.table(["Touched", "along", "across", "at most"], "lrrr", rows, pad=2.2)


def _errors(located: Located, words: Words) -> Block:
    """What each feature may be off by, and its room, the tightest first."""
    order = sorted(located.features, key=lambda each: each.clearance - each.most)[:_ROWS_BESIDE]
    rows = [
        [
            plain(each.name, _LONGEST),
            words.number(each.most, 2),
            words.number(each.clearance, 2),
            "fits" if each.go else "does not fit",
        ]
        for each in order
    ]
    return blocks.table(["Feature", "off by at most", "room", ""], "lrrl", rows, pad=2.6)


def _off(datum: DatumOff) -> float:
    return max(abs(datum.off_along or 0.0), abs(datum.off_across or 0.0))


def _side(face: FaceUp) -> str:
    return "underside" if face == "underside" else "show face"


def _before_the_first_cut(context: Context, top: TopPlan, located: Located) -> list[str]:
    if not located.go:
        return [
            "Cut nothing. Leave the top as it lies, if it can stay.",
            "Do what mends it, enter the touches as [[top.datums]] and plan again.",
            "With a go, this sheet lists the places to go to before the first cut, and the files are written.",
        ]
    return [
        f"The top lies as it was touched, {_side(located.face_up)} up, {_heights(context, top)}. If it moved: touch again.",
        "Spindle off, tip above the wood. Go to each place in order: touch, or look that the tip stands over its mark.",
        "Within the figure: tick. Off by more: stop, cut nothing, find out why.",
    ]


def _heights(context: Context, top: TopPlan) -> str:
    """What heights were taken from."""
    words, under = context.words, context.plan.job.shop.bed.waste_board
    thick = words.fine(top.layout.thickness)
    if under <= 0.0:
        return f"{thick} thick, on the bed itself"
    return f"{thick} thick, on a waste board of {words.fine(under)}"


def _file_sheets(context: Context, top: TopPlan, lying: Locating) -> list[Sheet]:
    programs = lying.programs
    words = context.words
    title = "Locating: the features' files"
    lead = f"{len(programs)} files, {minutes(sum(each.time for each in programs))} in all. In this order."
    sheets = []
    for start in range(0, len(programs), _FILES):
        part = programs[start : start + _FILES]
        rows = [_file_row(context, top, each) for each in part]
        head = ["", "File", "Feature", "Tool", "Passes", "Deep", "Floor at z", "Time", "Done"]
        more: list[Block] = [blocks.table(head, "lllrrrrrc", rows, wide=(1, 2), pad=3.0)]
        if len(part) <= _FILES_WITH_DRAWING:
            numbers: dict[str, str] = {}
            for each in part:
                numbers[each.feature] = ", ".join(filter(None, [numbers.get(each.feature), f"{each.number}"]))
            drawing = draw_located(
                context, top, lying.located, context.paper.inner_width, _FILES_PICTURE, {}, True, numbers
            )
            more.append(blocks.picture(drawing))
        sheets.append(
            Sheet(
                title if start == 0 else f"{title}, {start // _FILES + 1}",
                lead,
                [_great(context, top), *more],
                [
                    [blocks.steps(_file_steps(context))],
                    [
                        blocks.checks(
                            [
                                "Every place before the first cut ticked",
                                f"Top measured beside each feature: {words.fine(top.layout.thickness)}",
                                "Z zeroed twice, and again after each change of tool",
                                "Clamps, wedges, hose outside every move",
                            ]
                        )
                    ],
                    [blocks.caution("top features", "machine")],
                ],
                "wide",
            )
        )
    return sheets


def _great(context: Context, top: TopPlan) -> Block:
    words, shop = context.words, context.plan.job.shop
    under, thick = shop.bed.waste_board, top.layout.thickness
    on = "block" if shop.machine.block_height > 0.0 else "bed"
    return blocks.figures(
        [
            (words.number(under), f"{words.unit}, waste board", False),
            (words.number(thick), f"{words.unit}, top's thickness", False),
            (
                words.number(under + thick - shop.machine.block_height),
                f"{words.unit}, its upper face above z0, the {on}",
                True,
            ),
        ]
    )


def _file_row(context: Context, top: TopPlan, program: FeatureProgram) -> list[str]:
    words, shop = context.words, context.plan.job.shop
    through = program.floor <= 0.0
    deep = "through" if through else words.number(top.layout.thickness - program.floor)
    return [
        f"{program.number}",
        plain(program.name, 48),
        plain(program.feature, 24),
        f"{mark(program.diameter, words)} {program.tool}",
        f"{len(program.depths)}",
        deep,
        words.number(shop.bed.waste_board + program.floor - shop.machine.block_height),
        minutes(program.time),
        "[box]",
    ]


def _file_steps(context: Context) -> list[str]:
    block = context.plan.job.shop.machine.block_height
    on = f"the block, {context.words.fine(block)} above the bed" if block > 0.0 else "the bed itself"
    return [
        "X and y stay zeroed where they were for the touches.",
        f"Put in the tool of the file; zero z on {on}.",
        "Run the files in order. After each: stop, measure depth and place, tick.",
        "The files hold for these touches alone: once the top has moved, touch again and plan again.",
    ]


def _touch_first(context: Context, top: TopPlan) -> Sheet:
    """Where nothing was touched yet: good places, their drawing figures, room for the machine's figures."""
    words, face = context.words, face_to_cut(top)
    places = good_places(context, top, face)
    unit = words.unit
    rows = [
        [
            f"{number}",
            _named(place),
            mark(place.x, words),
            mark(place.y, words),
            "" if place.kind == "edge along" else "[write]",
            "" if place.kind == "edge across" else "[write]",
        ]
        for number, place in enumerate(places, start=1)
    ]
    drawing = draw_places(top, face, places, context.paper.picture_width, _PLACES)
    table = blocks.table(
        ["", "Place", "along", "across", f"x, {unit}", f"y, {unit}"], "llrrcc", rows, wide=(4, 5), pad=1.0
    )
    lead = f"Drawing figures in {words.unit_word}: from the left end, from the centre line."
    below = blocks.side_by_side(
        [
            [blocks.steps(_touching(context, top, face))],
            [
                blocks.text(f"{_face_words(face)} Ring: touch x and y. Bar: touch that edge, one figure."),
                *_wanting(places, face),
                blocks.caution("machine"),
            ],
        ]
    )
    return Sheet("Locating: touch these first", lead, [blocks.picture(drawing), below], [[table]], "side")


def _face_words(face: FaceUp) -> str:
    return (
        "Seen from above, turned over about its length: the far edge is in front."
        if face == "underside"
        else "Seen from above."
    )


def _named(place: Candidate) -> str:
    return place.name.replace(", towards the ", ", ")


def _wanting(places: Sequence[Candidate], face: FaceUp) -> list[Block]:
    if any(place.name.endswith("pin hole") for place in places):
        return [
            blocks.text(
                "Live edges are no datums: drill two shallow pin holes on the centre line instead."
                + (" Plug them afterwards." if face == "show" else "")
            )
        ]
    return []


def _touching(context: Context, top: TopPlan, face: FaceUp) -> list[str]:
    return [
        f"Lay the top {_side(face)} up, its left end at the left, {_heights(context, top)}. Hold it outside every move.",
        "Zero x and y at the machine's corner; leave them so until the last feature is cut.",
        "Touch two places far apart along the top and one more at least, better all. Each twice; both the same.",
        "Write each down, enter it as [[top.datums]] (name, kind, stated, touched) and plan again: go or no go, and the files.",
    ]


def good_places(context: Context, top: TopPlan, face: FaceUp) -> tuple[Candidate, ...]:
    """Places to touch: corners, edges and ends that are sawn; with live edges, ends and two pin holes on the centre line.

    Args:
        context: of the job
        top: its size and features
        face: that is up
    """
    live = context.plan.job.stated.piece.live_edges == "both"
    found = [*candidate_datums(top.length, top.width, {}, live_edges=live)]
    if live:
        shapes = [shape for _, shape in shapes_of(top, face)]
        tried = [_PIN_FROM_END + k * _PIN_STEP for k in range(int(top.length / 2.0 / _PIN_STEP))]
        for name, places in (("left pin hole", tried), ("right pin hole", [top.length - x for x in tried])):
            free = next((x for x in places if clear_of((x, 0.0), shapes, _PIN_CLEAR)), None)
            if free is not None:
                found.insert(0 if name.startswith("left") else 1, Candidate(name, "point", free, 0.0))
    return tuple(found[:_MOST_TO_TOUCH])
