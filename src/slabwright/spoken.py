"""The plan in a few lines of plain words, for the terminal."""

from __future__ import annotations

from slabwright.findings import Finding
from slabwright.plan import Plan
from slabwright.quantities import format_least, format_length
from slabwright.shop.money import format_about, format_amount
from slabwright.shop.price_results import Price

_WORDS = {"stop": "STOP", "caution": "Care", "note": "Note"}
_ORDER = ("stop", "caution", "note")


def finding_line(finding: Finding) -> str:
    """A problem in one paragraph: voice, what, remedy, whose rule."""
    return f"{_WORDS[finding.severity]}  {finding.message}\n      {finding.remedy}  [{finding.code}; {finding.source}]"


def spoken(result: Plan) -> str:
    """Title, board, what waits, and the problems, worst first."""
    head, units = result.job.stated.job, result.job.stated.job.units
    lines = [head.title]
    if result.slab is not None:
        seat = result.slab.seat
        low = format_length(seat.thickness_low, units, 1) if seat.thickness_low > 0.0 else "nothing of it"
        lines.append(
            f"  {format_length(seat.thickness, units, 1)} is the most the readings hold, proven; {low} is sure 19 times in 20."
        )
        if result.slab.chosen_fill and seat.thickness_low_filled > 0.0:
            lines.append(
                f"  With fill {result.slab.chosen_fill}: {format_least(seat.thickness_low_filled, units)} is sure."
            )
        if seat.target > 0.0:
            lines.append(
                f"  Cuts are planned for {format_length(seat.target, units, 1)}, face {result.slab.show_face} shown."
            )
    if result.board is not None and result.board.thickness > 0.0:
        lines.append(f"  Board ({result.board.rests_on}): {format_least(result.board.thickness, units)}.")
    lines += _shop(result)
    lines += [f"  Not worked out: {waiting.stage}; waits for {waiting.waits_for}." for waiting in result.waiting]
    for severity in _ORDER:
        lines += [finding_line(finding) for finding in result.findings if finding.severity == severity]
    return "\n".join(lines)


def _shop(result: Plan) -> list[str]:
    """What it costs, how long it takes and when it is ready, as far as it is known."""
    shop = result.shop
    if shop is None:
        return []
    lines, first = [], shop.first
    if first is not None:
        price = first.price
        low, about, high = (
            format_about(each, price.low, price.high, price.currency) for each in (price.low, price.total, price.high)
        )
        lines.append(f"  First price: about {about}, tax and all; {low} to {high} four times in five.")
        lines.append(
            f"  Work: {price.hours:.0f} h, {price.hours_low:.0f} to {price.hours_high:.0f} h four times in five."
        )
        if first.earliest is not None and first.latest is not None:
            lines.append(f"  Ready: {first.earliest} if all goes well; once in ten later than {first.latest}.")
        else:
            lines.append(f"  Ready: {first.days_low:.0f} to {first.days_high:.0f} days from the order.")
    if shop.price is not None:
        price = shop.price
        total = format_amount(price.total, price.currency)
        low, high = (format_about(each, price.low, price.high, price.currency) for each in (price.low, price.high))
        # What was agreed has no range: only what it costs has.
        runs = "as agreed" if price.reckoned is not None else f"{low} to {high} four times in five"
        lines.append(f"  Price: {total}, tax and all; {runs}{_unpriced(price)}.")
        lines.append(
            f"  Work: {price.hours:.1f} h, {price.hours_low:.1f} to {price.hours_high:.1f} h four times in five."
        )
    if (days := shop.schedule) is not None:
        promised = f"promised for {days.promised[:10]}; " if days.promised is not None else ""
        lines.append(
            f"  Ready: {promised}even chance {days.ready_even[:10]}, four times in five {days.ready_4_in_5[:10]},"
            " with this job alone in the shop."
        )
    return lines


def _unpriced(price: Price) -> str:
    count = len(price.not_priced)
    if not count:
        return ""
    return (
        "; 1 thing has no price yet and is left out"
        if count == 1
        else f"; {count} things have no price yet and are left out"
    )
