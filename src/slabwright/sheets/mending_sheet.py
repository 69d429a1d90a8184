"""The mending schedule: defects and keys on a plan of the slab, the options side by side, and a mixing card for each batch."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from slabwright.finish.mending_results import Mended, Mending, MendOption
from slabwright.finish.resin_results import Batch, Pour, Resin
from slabwright.job.epoxy_models import Epoxy
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, INK, SOFT
from slabwright.sheets.context import Context
from slabwright.sheets.fill_sheets import patch_steps, patch_table, with_mending
from slabwright.sheets.mending_drawing import plan_picture
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.pour_words import cut_then, hardens, when_poured
from slabwright.sheets.words import NO_BREAK, Words, plain

_ROWS = 9
_TO_A_SHEET = 4
_COLUMNS, _CARD_ROWS = 3, 2
_GAP = 5.0
_LITTLE = 1
"""Below so many grams a place takes a brushful."""
_PLACES_ON_CARD = 4
_DIPS_NAMED = 4


def mending_sheets(context: Context, mending: Mending | None, resin: Resin | None) -> list[Sheet]:
    """The mending schedule, the options of each defect, and the mixing cards; none where nothing is mended or filled.

    Args:
        context: the plan's sheets have it in common
        mending: defects that stay in the top
        resin: epoxy of dips and defects
    """
    found: list[Sheet] = []
    if mending is not None and mending.mends:
        # A first sheet with the plan and the work, then what does not go on it.
        chunks = [mending.mends[start : start + _ROWS] for start in range(0, len(mending.mends), _ROWS)]
        found += [
            _schedule(context, mending, resin, chunk, number, len(chunks))
            for number, chunk in enumerate(chunks, start=1)
        ]
        for start in range(0, len(mending.mends), _TO_A_SHEET):
            found.append(_options(context, mending.mends[start : start + _TO_A_SHEET]))
    if resin is not None and resin.batches:
        found += _mixing(context, resin)
    return found


def _schedule(
    context: Context, mending: Mending, resin: Resin | None, mends: Sequence[Mended], number: int, of: int
) -> Sheet:
    words = context.words
    rows = [
        [
            mend.name,
            mend.kind + (" (underside)" if mend.side == "underside" else ""),
            f"{words.place(mend.x)}, {words.place(mend.y)}",
            _sizes(mend, words),
            "through" if mend.through else words.fine(mend.depth),
            mend.chosen + ("" if mend.stated else " *"),
            f"{mend.option(mend.chosen).hours:.1f}",
            words.money(mend.option(mend.chosen).money),
        ]
        for mend in mends
    ]
    head = ["", "What", "Middle at x, y", "Size", "Depth left", "Mended by", "Hours", "Costs"]
    left: list[Block] = [
        blocks.picture(plan_picture(context, mending, context.paper.picture_width, 76.0)),
        blocks.table(head, "lllrrlrr", rows, wide=(1,), pad=3.0),
    ]
    filled = number == 1 and with_mending(context)
    if filled:
        left += [blocks.heading("Filled places"), patch_table(context)]
    if any(not mend.stated for mend in mends):
        left.append(blocks.text("* Recommended; state [[mends]] choose in the job file to settle it."))
    right: list[Block] = []
    if number == 1:
        epoxy = resin is not None and bool(resin.batches)
        waits = hardens(resin) if resin is not None and epoxy else words.days(round(mending.days, 1))
        right.append(
            blocks.figures(
                [
                    (f"{mending.hours:.1f} h", "of work in all", False),
                    (waits, "from the first batch to the cut" if epoxy else "of waiting", False),
                ]
            )
        )
        right += _problems(context)
        right.append(blocks.steps([*(patch_steps(context) if filled else []), *steps_of(context, mending, resin)]))
        right.append(
            blocks.checks(
                [
                    "Each defect probed; its depth is as told",
                    *(["Dams and closed holes sealed; fill flush or proud"] if filled else []),
                    "Client's sign-off for all that shows",
                ]
            )
        )
        right.append(blocks.caution(*(("epoxy", "attended") if filled else ("epoxy",))))
        said = [(name, context.because(path)) for name, path in (("mending", "finish.mending.mends[0].recommended"),)]
        if any(words_ for _, words_ in said):
            right.append(blocks.why(said))
    title = "Mending schedule" if of == 1 else f"Mending schedule {number} of {of}"
    title = "Filling and mending" if filled else title
    gone = ", ".join(f"{each.name} {each.why}" for each in mending.gone)
    lead = f"Done {mending.when}." + (f" {gone}." if gone and number == 1 else "")
    return Sheet(title, plain(lead, blocks.LONGEST_LEAD), left, [right])


def _problems(context: Context) -> list[Block]:
    rank = {"stop": 0, "caution": 1, "note": 2}
    own = [
        each
        for each in context.plan.findings
        if each.code.startswith(
            ("finish/mend", "finish/key", "finish/slab-rejected", "finish/depth-unknown", "finish/cut")
        )
        and each.severity != "note"
    ]
    return [blocks.problem(each) for each in sorted(own, key=lambda each: rank[each.severity])[:2]]


def _size(mm: float, words: Words) -> str:
    """A length of a defect: whole millimetres but for hairlines."""
    return words.place(mm) if mm >= 10.0 else words.fine(mm)


def _sizes(mend: Mended, words: Words) -> str:
    if abs(mend.length - mend.width) < 0.02 * mend.length:
        return f"Ø {_size(mend.length, words)}"
    return f"{_size(mend.length, words)} x {_size(mend.width, words)}"


def _names(mends: Sequence[Mended]) -> str:
    return ", ".join(mend.name for mend in mends)


def steps_of(context: Context, mending: Mending, resin: Resin | None) -> list[str]:
    """What is done, in the order of the work."""
    filled = [mend for mend in mending.mends if mend.chosen in ("fill", "key and fill")]
    thin = [mend for mend in mending.mends if mend.chosen == "thin epoxy"]
    keyed = [mend for mend in mending.mends if mend.chosen in ("key", "key and fill")]
    poured = [*filled, *thin]
    dug = [mend for mend in filled if mend.kind in ("bark", "pith", "metal")]
    found = []
    if metal := [mend for mend in mending.mends if mend.kind == "metal"]:
        found.append(f"Metal out of {_names(metal)}; metal detector over the place again.")
    if off := [mend for mend in mending.mends if mend.chosen == "cut off"]:
        found.append(f"Cut off: {_names(off)}. Where the slab is cut stands with its options.")
    if dug:
        found.append(f"Dig out {_names(dug)} to sound wood.")
    if poured:
        found.append("Brush and blow all places clean; dry wood only.")
    if taped := [mend for mend in poured if mend.tape]:
        found.append(f"Tape underneath {_names(taped)}, pressed down all round.")
    if dammed := [mend for mend in poured if mend.dam]:
        found.append(f"Dam at the edge of {_names(dammed)}.")
    if thin:
        found.append(f"Thin epoxy on {_names(thin)} until the wood takes no more.")
    if filled or with_mending(context):
        patches = context.slab.patches if context.slab.filled_with == "epoxy" else ()
        dips = [f"patch {patch.name}" for patch in patches[:_DIPS_NAMED]]
        dips += ["the smaller dips"] if len(patches) > _DIPS_NAMED else []
        found.append(f"Pour {', '.join([*([_names(filled)] if filled else []), *dips])} by the mixing cards.")
    if turned := [mend for mend in poured if mend.side == "underside"]:
        found.append(f"{_names(turned)} on the underside: once the show face is hard enough to turn the slab over.")
    if resin is not None and resin.batches:
        found.append(f"Leave it until {hardens(resin)} after the first batch.")
    if keyed:
        found.append(f"Let in the keys of {_names(keyed)}: grain across the check, glued, proud of the face.")
    found += [cut_then(context, again) for again in (resin.rerun if resin is not None else ())]
    return found or ["Nothing is mended: see the options."]


def _options(context: Context, mends: Sequence[Mended]) -> Sheet:
    half = ceil(len(mends) / 2)
    columns = [[block for mend in part for block in _of_one(context, mend)] for part in (mends[:half], mends[half:])]
    return Sheet(
        f"Mending: options of {mends[0].name}" + (f" to {mends[-1].name}" if len(mends) > 1 else ""),
        "What each way of mending costs; the chosen one in bold.",
        [],
        [column for column in columns if column] if len(mends) > 1 else [columns[0], []],
        "wide",
    )


def _option_row(option: MendOption, words: Words) -> list[str]:
    off = []
    if option.thickness > 0.05:
        off.append(f"{words.fine(option.thickness)} thinner")
    if option.length > 0.0:
        off.append(f"{words.place(option.length)} shorter")
    return [
        option.kind[:1].upper() + option.kind[1:],
        "[tick]" if option.fits else f"No: {option.reason}",
        words.money(option.money),
        f"{option.hours:.1f}",
        f"{option.days:.1f}",
        ", ".join(off),
    ]


def _of_one(context: Context, mend: Mended) -> list[Block]:
    words = context.words
    shown = [
        option for option in mend.options if option.fits or option.kind == mend.chosen or _worth_telling(option, mend)
    ]
    chosen = [row for row, option in enumerate(shown) if option.kind == mend.chosen]
    face = {"both": "both faces", "show": "show face", "underside": "underside"}[mend.side]
    found = [
        blocks.heading(f"{mend.name}  {mend.kind}, {face}, {words.fill(mend.volume)} empty"),
        blocks.table(
            ["Way", "Fits?", "Costs", "Hours", "Days", "Board"],
            "llrrrl",
            [_option_row(option, words) for option in shown],
            chosen=chosen,
            wide=(1,),
            pad=2.4,
        ),
    ]
    option = mend.option(mend.chosen)
    told = [option.note]
    off = mend.option("cut off")
    if off.fits and option is not off:
        told.append(f"Cut off: {off.note}")
    if mend.keys is not None:
        keys = mend.keys
        at = "; ".join(f"{words.place(place.x)}, {words.place(place.y)}" for place in keys.places[:6])
        face_word = "show face" if keys.face == "show" else "underside"
        told.append(
            f"Keys {_size(keys.length, words)} x {_size(keys.width, words)}, waist {_size(keys.waist, words)}, "
            f"{words.fine(keys.depth)} deep, {face_word}, middles at x, y = {at}."
        )
        placed = [
            f"{words.place(place.along)}, {words.place(place.across)}"
            for place in keys.places[:6]
            if place.along is not None and place.across is not None
        ]
        if placed:
            told.append(
                f"For [[top.features]]: along, across = {'; '.join(placed)} from left end and centre line, "
                f"turn {keys.turn:.0f} degrees."
            )
    if mend.keyed_by:
        told.append(f"Keys of the top across it: {', '.join(mend.keyed_by)}.")
    if mend.note:
        told.append(mend.note)
    if not mend.stated:
        told.append("Recommended: the first in the usual order that fits.")
    found.append(blocks.text(" ".join(each for each in told if each)))
    return found


def _worth_telling(option: MendOption, mend: Mended) -> bool:
    """Keys across what is no check, and the like, go without saying."""
    return not (option.kind in ("key", "key and fill") and mend.kind != "check")


def _mixing(context: Context, resin: Resin) -> list[Sheet]:
    shop = context.plan.job.shop
    paper, words = context.paper, context.words
    wide = (paper.inner_width - (_COLUMNS - 1) * _GAP) / _COLUMNS
    room = paper.inner_height - _GAP - 34.0
    high = room / _CARD_ROWS
    pours = {pour.number: pour for pour in resin.pours}
    found = []
    on_one = _COLUMNS * _CARD_ROWS
    sheets = [resin.batches[start : start + on_one] for start in range(0, len(resin.batches), on_one)]
    for number, part in enumerate(sheets, start=1):
        cards = [
            card(
                batch, pours[batch.pour], shop.epoxy if batch.sort == "casting" else shop.thin_epoxy, words, wide, high
            )
            for batch in part
        ]
        grams = words.grams(resin.mass)
        lead = f"{grams} of mix in all: {words.grams(resin.resin)} of resin, {words.grams(resin.hardener)} of hardener."
        lost = f"{words.fill(resin.lost)} of it is reckoned to run off. " if resin.lost > 0.0 else ""
        found.append(
            Sheet(
                "Mixing cards" if len(sheets) == 1 else f"Mixing cards {number} of {len(sheets)}",
                plain(lead, blocks.LONGEST_LEAD),
                [blocks.cards(cards, _COLUMNS, _GAP)],
                [
                    [
                        blocks.text(
                            f"Poured {when_poured(context)}. {lost}"
                            f"Wait {resin.between:g} hours between pours, {resin.before_machining:g} hours before the "
                            f"face is cut: {hardens(resin)} from the first batch."
                        )
                    ],
                    [
                        blocks.caution("epoxy", "attended")
                        if number == 1
                        else blocks.text("Cautions: on the first card sheet.")
                    ],
                ],
                "wide",
            )
        )
    return found


def card(batch: Batch, pour: Pour, epoxy: Epoxy, words: Words, width: float, height: float) -> Picture:
    """One batch in large type: what is weighed, how long there is, where it goes.

    Args:
        batch: on the scale
        pour: that it belongs to
        epoxy: its sheet
        words: how figures are written
        width: of the card [mm]
        height: of the card [mm]
    """
    drawing = Picture(width, height)
    drawing.rectangle(0.3, 0.3, width - 0.6, height - 0.6, weight=THICK)
    up = " Underside up." if pour.up == "underside" else ""
    drawing.text(3.0, 6.0, f"Batch {batch.number}", weight=700, size=1.3 * TEXT)
    drawing.text(width - 3.0, 6.0, f"pour {pour.number}, {plain(epoxy.name, 22)}", anchor="end")
    drawing.line(0.3, 8.5, width - 0.3, 8.5, weight=THIN)
    rows = [("Resin", batch.resin, batch.resin_volume), ("Hardener", batch.hardener, batch.hardener_volume)]
    if batch.tint:
        rows.append(("Tint", batch.tint, None))
    step = min(11.5, (height - 35.0) / len(rows))
    size = min(GREAT, step / 1.1)
    y = 8.5
    for name, grams, volume in rows:
        y += step
        drawing.text(3.0, y - 1.2, name, weight=600)
        drawing.text(width - 3.0, y - 1.2, f"{grams} g", size=size, weight=700, anchor="end", fill=CHOSEN)
        if volume is not None:
            drawing.text(22.0, y - 1.2, words.fill(volume), fill=SOFT)
    y += 2.0
    drawing.line(0.3, y, width - 0.3, y, weight=THIN)
    start = "at once" if batch.start < 1.0 / 120.0 else f"{batch.start:.1f} h after batch 1"
    into = [
        f"{part.place} {part.grams}{NO_BREAK}g" if part.grams >= _LITTLE else f"{part.place} a brushful"
        for part in batch.portions
    ]
    lines = [
        f"Together {batch.grams} g. Start: {start}.",
        f"Takes {ceil(batch.minutes):d} of {batch.working:.0f} minutes.{up}",
    ]
    more = len(into) - _PLACES_ON_CARD
    told = ", ".join(into[:_PLACES_ON_CARD]) + (f" and {more} more" if more > 0 else "")
    again = ", brushed on again until it takes no more" if batch.sort == "thin" else ""
    lines += _wrapped(f"Into {told}{again}.", width - 6.0)[:2]
    for line in lines:
        y += 1.25 * TEXT + 0.3
        drawing.text(3.0, y, line)
    drawing.rectangle(width - 7.0, height - 6.5, 3.8, 3.8, stroke=INK, weight=MIDDLE)
    drawing.text(width - 8.5, height - 3.4, "mixed at ______", anchor="end")
    return drawing


def _wrapped(text: str, width: float) -> list[str]:
    """A text in lines that fit a width."""
    lines = [""]
    for word in text.split(" "):
        tried = f"{lines[-1]} {word}".strip()
        if text_width(tried) > width and lines[-1]:
            lines.append(word)
        else:
            lines[-1] = tried
    return lines
