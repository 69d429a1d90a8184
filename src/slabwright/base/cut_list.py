"""The cut list: parts, the lengths they are sawn from, the saw's stops, what is ordered and what is kept."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.base.cut_list_results import (
    Bought,
    CutLength,
    CutList,
    CutPart,
    Cuts,
    KeptOffcut,
    LaidPiece,
    OffcutOnHand,
    Part,
    Saw,
    SawStop,
    SectionProof,
    Supply,
    Yard,
)
from slabwright.base.cut_parts import (
    check_part,
    cuts_of,
    leans,
    middle,
    passes,
    saw_findings,
    short_points,
    stop_length,
    two_pass,
)
from slabwright.base.cutting_patterns import SLACK, End, Piece, at_stock_end, best_order, between, needed
from slabwright.base.cutting_results import CuttingPlan, Stock
from slabwright.base.cutting_stock import cutting_stock
from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.quantities import Units, format_length
from slabwright.reference.steel import steel

KEEP = 300.0
"""Shortest offcut that is worth keeping [mm]: common practice."""


def default_supplies(units: Units) -> tuple[Supply, ...]:
    """Lengths that steel is sold in where the shop states none."""
    return tuple(Supply(length) for length in steel().supply[units])


def cut_list(
    parts: Sequence[Part],
    *,
    saw: Saw,
    supplies: Sequence[Supply] = (),
    offcuts: Sequence[OffcutOnHand] = (),
    yard: Yard | None = None,
    keep: float = KEEP,
    units: Units = "metric",
    seconds: float = 3.5,
) -> CutList:
    """The cut list of all parts, section by section.

    Args:
        parts: of the base, plates among them as flats
        saw: its kerf, mitre and reach
        supplies: lengths to be had; none: as steel is usually sold
        offcuts: on hand
        yard: what the van takes and what a cut at the yard costs
        keep: shortest offcut that is kept [mm]
        units: of the messages
        seconds: at most to spend on the proof for each section

    Raises:
        SlabwrightError: a part's mitres meet before its length ends, or its figures make no part.
    """
    supplies = supplies or default_supplies(units)
    yard = yard or Yard()
    findings: list[Finding] = []
    work: dict[str, list[Part]] = {}
    for part in parts:
        check_part(part, units)
        findings += saw_findings(part, saw, units)
        work.setdefault(part.section.name, []).append(part)
    sections = [
        _section(name, of_it, saw, supplies, offcuts, yard, keep, units, seconds, findings)
        for name, of_it in work.items()
    ]
    return CutList(
        parts=tuple(_cut_part(part, saw) for part in parts),
        lengths=tuple(length for done in sections for length in done.lengths),
        stops=_stops(parts),
        bought=tuple(bought for done in sections for bought in done.bought),
        offcuts=_kept(sections, keep),
        two_pass=tuple(two_pass(part, saw, units) for part in parts if passes(part, saw) == 2),
        proofs=tuple(done.proof for done in sections if done.proof is not None),
        kerf=saw.kerf,
        cuts=sum(_cuts(length) * length.times for done in sections for length in done.lengths),
        findings=tuple(findings),
    )


@dataclass(frozen=True)
class _Done:
    lengths: tuple[CutLength, ...]
    bought: tuple[Bought, ...]
    proof: SectionProof | None
    uncut: tuple[tuple[str, float], ...] = ()


def _cut_part(part: Part, saw: Saw) -> CutPart:
    return CutPart(
        name=part.name,
        section=part.section.name,
        count=part.count,
        long_points=part.length,
        short_points=short_points(part),
        rough=part.length + part.extra,
        mitres=part.mitres,
        cuts=cuts_of(part),
        stop=stop_length(part),
        over=part.over,
        mass=middle(part) / 1000.0 * part.section.mass_per_metre,
        passes=passes(part, saw),
    )


def _piece(part: Part, saw: Saw) -> Piece:
    """The part as it takes its place in a length.

    A section that looks alike when it is turned over nests point to point; an angle does not, so it takes its whole length.
    """
    kerfs = [saw.kerf / math.cos(math.radians(mitre)) for mitre in part.mitres]
    name = part.name
    if part.section.kind == "angle":
        ends = (End(0.0, kerfs[0]), End(0.0, kerfs[1]))
        return Piece(name, part.length + part.extra, part.count, ends)
    side = "" if abs(part.section.depth - part.section.width) < SLACK else part.over
    both = leans(part)
    first, last = (
        End(round(lean, 9), round(kerf, 9), side if lean > 0.0 else "") for lean, kerf in zip(both, kerfs, strict=True)
    )
    return Piece(name, middle(part), part.count, (first, last))


def _section(
    name: str,
    parts: Sequence[Part],
    saw: Saw,
    supplies: Sequence[Supply],
    offcuts: Sequence[OffcutOnHand],
    yard: Yard,
    keep: float,
    units: Units,
    seconds: float,
    findings: list[Finding],
) -> _Done:
    own = [supply for supply in supplies if supply.section == name] or [s for s in supplies if not s.section]
    priced = all(supply.price is not None for supply in own)
    stocks = [
        Stock(offcut.name or "offcut", offcut.length, 0.0, offcut.count, offcut=True)
        for offcut in offcuts
        if offcut.section == name and offcut.length > 0.0 and offcut.count > 0
    ]
    for supply in own:
        stocks += _ways_home(supply, yard, saw, priced)
    longest = max((part for stock in stocks for part in stock.pieces), default=0.0)
    fitting = []
    for part in parts:
        alone = needed([_piece(part, saw)], [1])
        if alone <= longest + SLACK:
            fitting.append(part)
            continue
        findings.append(
            Finding(
                "base/longer-than-stock",
                "stop",
                f"{part.name[:1].upper()}{part.name[1:]} takes {format_length(alone, units)} of {name}; the longest to be had"
                f" {'that the van takes ' if yard.longest is not None else ''}is {format_length(longest, units)}.",
                f"State a longer length under the steel's lengths{' or a longer van' if yard.longest is not None else ''},"
                " or make the part of two with a joint.",
                COMMON_PRACTICE,
            )
        )
    if not fitting:
        return _Done((), (), None)
    pieces = [_piece(part, saw) for part in fitting]
    plan = cutting_stock(pieces, stocks, seconds)
    return _Done(
        lengths=tuple(_lengths(name, plan, fitting, pieces, stocks, saw, keep)),
        bought=tuple(
            Bought(
                section=name,
                length=stock.length,
                count=many,
                yard_cuts=stock.parts if len(stock.parts) > 1 else (),
                price=many * stock.price if priced else None,
            )
            for stock, many in zip(stocks, plan.taken, strict=True)
            if many and not stock.offcut
        ),
        proof=SectionProof(
            section=name,
            lengths=plan.lengths,
            least_lengths=plan.lengths_bound,
            price=plan.price if priced else None,
            least_price=plan.bound if priced else None,
            bought_length=math.fsum(
                many * stock.length for stock, many in zip(stocks, plan.taken, strict=True) if not stock.offcut
            ),
            proven=plan.proven,
        ),
        uncut=tuple((name, part) for part in _uncut(plan, stocks)),
    )


def _uncut(plan: CuttingPlan, stocks: Sequence[Stock]) -> list[float]:
    """Parts of bought lengths that nothing is cut from: the yard's second half, left for the next job."""
    left: Counter[float] = Counter()
    for stock, many in zip(stocks, plan.taken, strict=True):
        for part in stock.pieces:
            left[part] += many
    for cut in plan.cuts:
        left[cut.part] -= cut.times
    on_rack = {stock.length for stock in stocks if stock.offcut}
    return [part for part, many in left.items() for _ in range(max(0, many)) if part not in on_rack]


def _ways_home(supply: Supply, yard: Yard, saw: Saw, priced: bool) -> list[Stock]:
    """A length whole, or the ways that the yard may cut it to fit the van: in equal parts, or as long as the van takes."""
    price = (supply.price or 0.0) if priced else supply.length
    if yard.longest is None or supply.length <= yard.longest + SLACK:
        return [_stock(supply, price, (supply.length,), saw)]
    many = math.ceil((supply.length + yard.kerf) / (yard.longest + yard.kerf) - 1e-9)
    equal = (supply.length - (many - 1) * yard.kerf) / many
    rest = supply.length - (many - 1) * (yard.longest + yard.kerf)
    price += (many - 1) * yard.price_per_cut if priced else 0.0
    ways = [tuple([equal] * many)]
    if equal < yard.longest - 1.0 and rest > saw.first_cut:
        ways.append((*[yard.longest] * (many - 1), rest))
    return [_stock(supply, price, way, saw) for way in ways]


def _stock(supply: Supply, price: float, parts: tuple[float, ...], saw: Saw) -> Stock:
    """A length as it reaches the saw: its first end squared."""
    squared = tuple(part - saw.first_cut for part in parts)
    return Stock("bought", supply.length, price, supply.available, squared)


def _lengths(
    section: str,
    plan: CuttingPlan,
    parts: Sequence[Part],
    pieces: Sequence[Piece],
    stocks: Sequence[Stock],
    saw: Saw,
    keep: float,
) -> list[CutLength]:
    from_rack = Counter(
        {
            length: sum(
                many for stock, many in zip(stocks, plan.taken, strict=True) if stock.offcut and stock.length == length
            )
            for length in {stock.length for stock in stocks if stock.offcut}
        }
    )
    found = []
    for cut in plan.cuts:
        laid = _laid(parts, pieces, cut.counts)
        used = needed(pieces, cut.counts)
        left = max(0.0, cut.part - used - saw.kerf)
        of_rack = min(cut.times, from_rack[cut.part])
        from_rack[cut.part] -= of_rack
        found += [
            CutLength(section, cut.part, source, times, laid, used, left, left >= keep)
            for source, times in (("offcut on hand", of_rack), ("bought", cut.times - of_rack))
            if times
        ]
    return found


def _laid(parts: Sequence[Part], pieces: Sequence[Piece], counts: Sequence[int]) -> tuple[LaidPiece, ...]:
    laid: list[LaidPiece] = []
    at = 0.0
    before: End | None = None
    for index, turned in best_order(pieces, counts):
        first, last = reversed(pieces[index].ends) if turned else pieces[index].ends
        mitres = parts[index].mitres[::-1] if turned else parts[index].mitres
        if before is None:
            at = at_stock_end(first) + first.kerf / 2.0
        else:
            at += between(before, first) + (before.kerf + first.kerf) / 2.0
        end = at + pieces[index].length
        laid.append(LaidPiece(parts[index].name, at, end, mitres[0], mitres[1], turned, before == first))
        at, before = end, last
    return tuple(laid)


def _cuts(length: CutLength) -> int:
    """Cuts that one length asks for: none at a square end of it, one where both pieces share it, else two."""
    if not length.pieces:
        return 0
    first = int(length.pieces[0].first_mitre > 0.0)
    inside = sum(1 if piece.shares_cut else 2 for piece in length.pieces[1:])
    last = int(length.pieces[-1].last_mitre > 0.0 or length.length - length.used > SLACK)
    return first + inside + last


def _stops(parts: Sequence[Part]) -> tuple[SawStop, ...]:
    groups: dict[tuple[str, float, tuple[float, float], Cuts], list[Part]] = {}
    for part in parts:
        low, high = sorted(part.mitres)
        key = (part.section.name, round(stop_length(part), 3), (low, high), cuts_of(part))
        groups.setdefault(key, []).append(part)
    return tuple(
        SawStop(
            section, stop, mitres, cuts, sum(part.count for part in of_it), tuple(dict.fromkeys(p.name for p in of_it))
        )
        for (section, stop, mitres, cuts), of_it in sorted(groups.items(), key=lambda item: (item[0][0], -item[0][1]))
    )


def _kept(sections: Sequence[_Done], keep: float) -> tuple[KeptOffcut, ...]:
    found: Counter[tuple[str, float]] = Counter()
    for done in sections:
        for length in done.lengths:
            if length.kept:
                found[length.section, round(length.offcut, 3)] += length.times
        for section, part in done.uncut:
            if part >= keep:
                found[section, round(part, 3)] += 1
    return tuple(KeptOffcut(section, left, count) for (section, left), count in sorted(found.items()))
