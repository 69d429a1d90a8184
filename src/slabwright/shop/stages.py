"""When what is paid: the deposit before the slab is bought, parts at sign-offs, the balance before unloading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE, SlabwrightError
from slabwright.job.loaded import Job
from slabwright.job.money_models import PayStage, check_shares
from slabwright.shop.money import exact, format_minor, plain_amount, shared_out, to_minor

DEPOSIT, BALANCE = "Deposit", "Balance"
_SHARES = ("shop:money.deposit", "shop:money.stages", "job:quote.deposit", "job:quote.stages")


@dataclass(frozen=True)
class StageDue:
    """One payment."""

    name: str = figure("", "which payment")
    due: str = figure("", "when it must have cleared", source=COMMON_PRACTICE)
    share: float = figure(
        "%", "of the price", how="as stated; the balance is the rest", rests_on=_SHARES, change="[money] or [quote]"
    )
    amount: float = figure(
        "money",
        "to be paid",
        how="what was invoiced stays; the rest is shared out by the shares; units that are left over go to the largest"
        " remainders, so that all add up",
        rests_on=("shop.price.total", "job:quote.invoiced"),
        sure="to the currency's smallest unit",
    )
    tax: float = figure(
        "money", "of that, tax", how="the price's tax shared out likewise", rests_on=("shop.price.tax",)
    )
    minor: int = working()
    tax_minor: int = working()


def shares_of(job: Job) -> tuple[tuple[str, str, float], ...]:
    """Name, when it is due and share [%] of each payment; payments of nothing are left out.

    Raises:
        SlabwrightError: the shares are not the whole.
    """
    money, quote = job.shop.money, job.stated.quote
    deposit, stages, balance = money.deposit, money.stages, money.balance
    if quote is not None:
        own = quote.deposit is not None or quote.stages is not None or quote.balance is not None
        deposit = quote.deposit if quote.deposit is not None else deposit
        stages = quote.stages if quote.stages is not None else stages
        # A balance that the shop states is the rest of the shop's own shares, not of this job's.
        balance = quote.balance if own else balance
    return payments(deposit, stages, balance)


def payments(deposit: float, stages: Sequence[PayStage], balance: float | None) -> tuple[tuple[str, str, float], ...]:
    """Name, when it is due and share [%] of each payment; payments of nothing are left out.

    Args:
        deposit: [%]
        stages: at sign-offs
        balance: [%]; None: the rest

    Raises:
        SlabwrightError: the shares are not the whole.
    """
    try:
        check_shares(deposit, stages, balance)
    except ValueError as error:
        raise SlabwrightError(f"quote: {error}") from None
    rest = 100.0 - float(exact(deposit) + sum((exact(stage.share) for stage in stages), start=exact(0)))
    found = [(DEPOSIT, "cleared before the slab is bought", deposit)]
    found += [(stage.name, f"when signed off: {stage.name}", stage.share) for stage in stages]
    found.append((BALANCE, "cleared before unloading", rest))
    return tuple(each for each in found if each[2] > 1e-9)


def _invoiced(job: Job, payments: int, total: int, currency: str) -> tuple[int, ...]:
    """What was invoiced so far, in the currency's smallest unit: that does not move any more."""
    quote = job.stated.quote
    stated = tuple(to_minor(amount, currency) for amount in quote.invoiced) if quote is not None else ()
    if len(stated) > payments:
        raise SlabwrightError(
            f"quote.invoiced: {len(stated)} payments are invoiced, and there are {payments}; take out what is no payment"
        )
    if sum(stated) > total or (len(stated) == payments and sum(stated) != total):
        told = f"{format_minor(sum(stated), currency)} is invoiced, and the price is {format_minor(total, currency)}"
        raise SlabwrightError(
            f"quote.invoiced: {told}; state [quote] agreed, or what was given back as the last payment less"
        )
    return stated


def stages(job: Job, total: int, tax: int, currency: str, *, settled: bool = True) -> tuple[StageDue, ...]:
    """The payments of a price.

    Args:
        job: with the shares
        total: what the client pays, in the currency's smallest unit
        tax: of that
        currency: three letters
        settled: whether what was invoiced so far was invoiced for this price

    Raises:
        SlabwrightError: the shares are not the whole, or more is invoiced than the price.
    """
    parts = shares_of(job)
    invoiced = () if not settled else _invoiced(job, len(parts), total, currency)
    rest = [share for _, _, share in parts[len(invoiced) :]]
    amounts = (*invoiced, *shared_out(total - sum(invoiced), rest)) if rest else invoiced
    taxes = shared_out(tax, amounts) if total else (0,) * len(parts)
    return tuple(
        StageDue(
            name=name,
            due=due,
            share=share,
            amount=plain_amount(amount, currency),
            tax=plain_amount(of_tax, currency),
            minor=amount,
            tax_minor=of_tax,
        )
        for (name, due, share), amount, of_tax in zip(parts, amounts, taxes, strict=True)
    )
