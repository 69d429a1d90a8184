"""The feeds card, and what each error costs."""

from __future__ import annotations

from slabwright import quantities
from slabwright.machine.error_costs import ErrorCost
from slabwright.machine.feeds import Feeds
from slabwright.machine.results import MachinePlan
from slabwright.quantities import INCH
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, PAPER, SOFT, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.machine_words import along_edge, minutes
from slabwright.sheets.picture import GREAT, MIDDLE, THICK, THIN, Picture, path_of
from slabwright.sheets.words import Words, plain

_ON_FEEDS = (
    "too-deep",
    "too-fast",
    "cutter-speed",
    "spindle-speed",
    "chip-load",
    "power",
    "spindle-weak",
    "ridges",
    "stick-out",
    "holder",
)
_MOST_LINES = 13
_LETTERS_IN_A_LINE = 72
_CUTTER = 76.0


def _rpm(speed: float) -> str:
    return f"{speed:.0f}"


def _a_minute(feed: float, words: Words) -> str:
    return f"{feed:.0f}" if words.metric else f"{feed / INCH:.0f}"


def _small(mm: float, words: Words) -> str:
    """A chip: hundredths of a millimetre, ten-thousandths of an inch."""
    return f"{mm:.3f} mm" if words.metric else f'{mm / INCH:.4f}"'


def _at_the_machine(context: Context, kind: str) -> Block:
    machine, words = context.plan.job.shop.machine, context.words
    figured = bool(context.plan.job.stated.slab and context.plan.job.stated.slab.figured)
    last = min(machine.last_depth, machine.last_depth_figured) if figured else machine.last_depth
    first = machine.first_depth if machine.first_depth is not None else machine.greatest_depth / 2.0
    push = machine.feed / 60.0
    by_hand = f"{push:.0f} mm" if words.metric else f"{push / INCH:.1f} in"
    feed = f"{words.unit} a minute, feed" + (f": {by_hand} a second by hand" if kind == "sled" else "")
    return blocks.figures(
        [
            (_rpm(machine.spindle_speed), "turns a minute", False),
            (_a_minute(machine.feed, words), feed, False),
            (words.number(first), f"{words.unit}, first depth", False),
            (words.number(machine.greatest_depth), f"{words.unit} a pass at most", False),
            (words.number(last), f"{words.unit}, last depth", False),
            (words.number(machine.stepover), f"{words.unit} stepover", False),
        ]
    )


def _cutter_drawing(context: Context) -> Picture:
    """The cutter between two strips, seen along them, not to scale."""
    machine, words = context.plan.job.shop.machine, context.words
    wide = context.paper.inner_width
    drawing = Picture(wide, _CUTTER)
    base, deep, across = 57.0, 13.0, 84.0
    middle = 0.44 * wide
    left, right = middle - across / 2, middle + across / 2
    step = across * min(machine.stepover / machine.cutter_diameter, 0.95)
    floor, top = base, base - deep
    wood_right = wide - 12.0
    # The cutter runs towards the reader; what it takes now lies at its right.
    wood = [
        (12.0, floor),
        (right, floor),
        (right, top),
        (wood_right, top),
        (wood_right, floor + 8.0),
        (12.0, floor + 8.0),
    ]
    drawing.polygon(wood, fill=WOOD, weight=0.0)
    drawing.hatch(path_of(wood, close=True), (12.0, top, wood_right, floor + 8.0), step=2.6, stroke=SOFT)
    drawing.polyline([(12.0, floor), (right, floor), (right, top), (wood_right, top)], weight=THICK)
    drawing.rectangle(left, floor - 24.0, across, 24.0, fill=PAPER, weight=2 * THICK)
    drawing.rectangle(middle - 5.0, 0.5, 10.0, floor - 24.5, fill=PAPER, weight=THICK)
    drawing.line(right - step, floor - 24.0, right - step, floor, weight=MIDDLE, dash="2 1", stroke=CHOSEN)
    drawing.line(right - step, floor - 4.0, right, floor - 4.0, stroke=CHOSEN)
    for x in (right - step, right):
        drawing.line(x - 0.9, floor - 3.1, x + 0.9, floor - 4.9, stroke=CHOSEN)
    said = words.number(machine.stepover)
    drawing.text(right - step / 2, floor - 6.8, said, size=GREAT, anchor="middle", weight=700, fill=CHOSEN)
    drawing.text(right + 22.0, top - 1.8, "stepover inside the cutter, depth at its side", fill=SOFT)
    drawing.line(right + 6.0, floor, right + 12.0, floor, weight=THIN)
    drawing.line(right + 9.0, top, right + 9.0, floor, stroke=CHOSEN)
    for y in (top, floor):
        drawing.line(right + 8.1, y + 0.9, right + 9.9, y - 0.9, stroke=CHOSEN)
    figure = words.number(machine.greatest_depth)
    plate = 0.56 * GREAT * len(figure)
    drawing.rectangle(right + 12.0, top + 1.2, plate, deep - 1.8, fill=PAPER, weight=0.0)
    drawing.text(right + 12.5, floor - 2.0, figure, size=GREAT, weight=700, fill=CHOSEN)
    drawing.dimension(
        left, right, floor + 14.0, f"cutter {words.place(machine.cutter_diameter)}, {machine.flutes} edges"
    )
    drawing.text(14.0, floor - 2.0, "cut before", weight=600)
    drawing.text(middle + 8.0, 5.0, f"{_rpm(machine.spindle_speed)} turns a minute", weight=600)
    return drawing


def _rows(context: Context, machine: MachinePlan) -> list[list[str]]:
    got, words = machine.feeds, context.words
    asked = "not stated"
    if got.chip_load_low is not None and got.chip_load_high is not None:
        asked = f"{_small(got.chip_load_low, words)} to {_small(got.chip_load_high, words)}"
    speed = f"{got.cutting_speed:.0f} m/s" if words.metric else f"{got.cutting_speed / 0.3048 * 60.0:.0f} ft/min"
    rows = [
        ["Feed a tooth", _small(got.chip_load, words), f"maker's range: {asked}"],
        ["Mean chip", _small(got.chip_thickness, words), f"last depth: {_small(got.chip_thickness_last, words)}"],
        ["Speed of the edges", speed, ""],
        ["Wood cut", f"{words.chips(got.removal_rate)}/min", "deepest pass"],
        ["Power at the cutter", *_power(got)],
    ]
    if got.force is not None:
        rows.append(["Push on the cutter", words.force(got.force), "deepest pass"])
    ridges = "none: the stepover is within the flat" if got.scallop <= 0.0 else "between the strips"
    rows.append(["Surface, ridges", words.finer(got.scallop), ridges])
    if machine.programs:
        lives = (
            "life not stated"
            if machine.edges_used is None
            else f"{machine.edges_used:.2f} of its life" if machine.edges_used < 1.0 else f"{machine.edges_used:.1f} lives"
        )  # fmt: skip
        rows.append(["Each edge cuts", along_edge(machine.edge_length, words), lives])
        rows.append(["Machine time", minutes(machine.time), f"{len(machine.programs)} files"])
    if got.strip_life is not None:
        rows.append(["Turn the inserts after", along_edge(got.strip_life, words), "of strip"])
    return rows


def _power(got: Feeds) -> tuple[str, str]:
    if got.power is None:
        return "not checked", "cutting energy not stated"
    planned = "" if got.power_planned is None else f", {got.power_planned:.0f} W planned with"
    whole = "" if got.power_whole is None else f"whole width {got.power_whole:.0f} W"
    return f"{got.power:.0f} W", f"{whole}{planned}"


def _findings(context: Context) -> list[Block]:
    said: list[Block] = []
    lines = left = 0
    for finding in context.plan.findings:
        if not finding.code.startswith(tuple(f"machine/{rule}" for rule in _ON_FEEDS)):
            continue
        lines += 1 + (len(finding.message) + len(finding.remedy) + len(finding.source)) // _LETTERS_IN_A_LINE
        if lines > _MOST_LINES:
            left += 1
            continue
        said.append(blocks.problem(finding))
    if left:
        said.append(blocks.text(f"And {left} more on the first sheet."))
    return said or [blocks.voice("go", "Feed, speed and depth are within what is stated.")]


def feeds_card(context: Context, machine: MachinePlan) -> Sheet:
    """What is set at the machine in great type, and what it comes to."""
    name = context.plan.job.shop.machine.name
    return Sheet(
        "Feeds card",
        f"{plain(name, 40)}. Set it, then read it once more.",
        [_at_the_machine(context, machine.kind), blocks.picture(_cutter_drawing(context))],
        [
            [blocks.table(["", "", ""], "lrl", _rows(context, machine), pad=2.6)],
            [
                *_findings(context),
                blocks.checks(
                    [
                        "Inserts sharp, seated, screws tight; the same way round all of them",
                        "Spindle up to speed before it touches wood",
                    ]
                ),
            ],
        ],
        "wide",
    )


def _sketches(context: Context) -> list[Picture]:
    wide = (context.paper.inner_width - 8.0) / 3
    return [_zero_sketch(wide), _tram_sketch(wide), _bow_sketch(wide)]


_SKETCH, _BED = 70.0, 60.0


def _zero_sketch(wide: float) -> Picture:
    drawing = Picture(wide, _SKETCH)
    drawing.text(0.0, 4.0, "Z zero: the whole plane too high or too low", weight=600)
    drawing.rectangle(6.0, 30.0, wide - 12.0, _BED - 30.0, fill=WOOD, weight=THICK)
    drawing.line(2.0, _BED, wide - 2.0, _BED, weight=2 * THICK)
    for y, foot, said in ((23.0, 21.8, "too high: skips"), (37.0, 42.0, "too low: the other face runs out")):
        drawing.line(4.0, y, wide - 4.0, y, weight=MIDDLE, dash="3 1.2", stroke=CHOSEN)
        drawing.text(wide / 2, foot, said, anchor="middle", fill=CHOSEN, weight=600)
    return drawing


def _tram_sketch(wide: float) -> Picture:
    drawing = Picture(wide, _SKETCH)
    drawing.text(0.0, 4.0, "Tram: the spindle leans, strips come out as steps", weight=600)
    drawing.line(2.0, _BED, wide - 2.0, _BED, weight=2 * THICK)
    step, high, low = (wide - 12.0) / 5, 33.0, 38.0
    steps = [point for k in range(5) for point in ((6.0 + k * step, low), (6.0 + (k + 1) * step, high))]
    drawing.polygon([(6.0, _BED), *steps, (wide - 6.0, _BED)], fill=WOOD, weight=THICK)
    near, far = 6.0 + 2 * step, 6.0 + 3 * step
    cutter = [(near, low), (far, high), (far - 1.8, high - 6.0), (near - 1.8, low - 6.0)]
    drawing.polygon(cutter, fill=PAPER, weight=THICK)
    middle, foot = (near + far) / 2 - 1.8, (high + low) / 2 - 6.0
    drawing.line(middle, foot, middle - 5.5, foot - 19.0, weight=3 * THICK)
    drawing.line(middle, foot, middle, foot - 19.0, weight=THIN, dash="2 1")
    return drawing


def _bow_sketch(wide: float) -> Picture:
    drawing = Picture(wide, _SKETCH)
    drawing.text(0.0, 4.0, "Movement: the wood bows once it is opened", weight=600)
    drawing.line(2.0, _BED, wide - 2.0, _BED, weight=2 * THICK)
    ends, middle = wide - 6.0, wide / 2
    data = f"M6 {_BED}Q{middle:.2f} {_BED - 16} {ends:.2f} {_BED}L{ends:.2f} 34Q{middle:.2f} 18 6 34Z"
    drawing.path(data, weight=THICK, fill=WOOD)
    drawing.line(4.0, 30.0, wide - 4.0, 30.0, weight=MIDDLE, dash="3 1.2", stroke=CHOSEN)
    drawing.text(middle, 34.6, "plane", anchor="middle", fill=CHOSEN, weight=600)
    return drawing


def _error_size(mm: float, words: Words) -> str:
    """An error's size; one that the units are too coarse for is told as less than their finest step."""
    finest = 0.001 if words.metric else 0.001 * INCH
    if 0.0 < mm < finest:
        return f"under {quantities.format_length(finest, words.units)}"
    return quantities.format_length(mm, words.units)


def _cost_row(cost: ErrorCost, words: Words) -> list[str]:
    way = f"{cost.what.capitalize()}, {cost.way}"
    skips = "none" if cost.skip_area <= 0.0 else f"{words.area(cost.skip_area)}, {words.finer(cost.skip_depth)} deep"
    loss = "nothing" if cost.loss < 0.005 else words.finer(cost.loss)
    return [way, _error_size(cost.size, words), cost.face, skips, loss, cost.change]


def error_sheet(context: Context, machine: MachinePlan) -> Sheet:
    """What an error of z zero, of the spindle's lean, of the wood costs, and what keeps it small."""
    words = context.words
    rows = [_cost_row(cost, words) for cost in machine.error_costs]
    head = ["Error", "Size", "Face", "Skips", "Thickness lost", "What keeps it small"]
    return Sheet(
        "What errors cost",
        f"In the promised thickness; {words.fine(context.slab.seat.milled)} as cut.",
        [
            blocks.cards(_sketches(context), 3, 4.0),
            blocks.table(head, "lrclrl", rows, wide=(5,), pad=4.0),
        ],
        [
            [
                blocks.text(
                    "Counted on the map of wood above the plane. Skips: what the cutter misses because of the error, beyond what "
                    "it misses anyway. Thickness lost: once the skips are cut out."
                )
            ],
            [
                blocks.checks(
                    [
                        "Z zeroed twice, before each clamping",
                        "Spindle trammed: gauge swung over the bed, along and across",
                        "Read again after the rest",
                    ]
                )
            ],
        ],
        "wide",
    )
