"""Mixing cards of epoxy and coats, and the cans to buy."""

from __future__ import annotations

from typing import Any

from pydantic import Field

from slabwright.finish.coating_results import CoatPlan
from slabwright.finish.windows import hours_words
from slabwright.plan import Plan
from slabwright.sheets.finish_drawing import film_text
from slabwright.sheets.words import Words
from slabwright.web.models import Model
from slabwright.web.pages.finish_next import operation_of


class CardPart(Model):
    """What is measured out."""

    name: str
    great: str
    small: str = Field(description="the other measure, or nothing")


class Card(Model):
    """One batch to mix."""

    key: str = Field(description="the tick's name: it changes when what is mixed changes")
    title: str
    parts: list[CardPart]
    lines: list[str]


class CanView(Model):
    """Cans to buy."""

    count: int = Field(description="0: its can sizes are not stated")
    coating: str
    holds: str
    money: str


def coat_cards(plan: Plan, words: Words) -> list[Card]:
    """A mixing card for each batch of each coat."""
    if plan.finish is None:
        return []
    found = []
    for system in plan.finish.systems:
        for coat in system.coats:
            parts = [_part(coat, part, words) for part in coat.batches.parts]
            told = "; ".join(f"{part.name} {part.great}" for part in parts)
            for batch in range(1, coat.batches.count + 1):
                title = operation_of(system, coat)
                if coat.batches.count > 1:
                    title += f", batch {batch} of {coat.batches.count}"
                found.append(Card(key=f"{title}: {told}", title=title, parts=parts, lines=_lines(coat, words)))
    return found


def _part(coat: CoatPlan, part: Any, words: Words) -> CardPart:
    by_mass = coat.sheet.mix_by == "mass" and coat.sheet.two_parts and part.mass is not None
    name = {"": "Use", "thinner": "Thinner"}.get(part.name, part.name)
    volume = words.fill(part.volume * 1e6) if part.volume is not None else ""
    mass = words.grams(part.mass) if part.mass is not None else ""
    great, small = (mass, volume) if by_mass or not volume else (volume, mass)
    return CardPart(name=name, great=great, small=small)


def _lines(coat: CoatPlan, words: Words) -> list[str]:
    found = []
    if coat.batches.usable is not None and coat.pot_life is not None:
        stand = coat.sheet.more.induction
        waits = f"Let it stand {stand:.0f} min; use it" if stand > 0.0 else "Use it"
        found.append(f"{waits} up {max(0.0, coat.batches.usable + stand):.0f} min after mixing.")
    if coat.wet_film is not None:
        found.append(f"Comb gauge: {film_text(coat.wet_film, words)} wet, {film_text(coat.film, words)} dry.")
    if coat.sheet.kind == "oil":
        found.append("Worked in; wipe off all that stands. Oily cloths catch fire: wet them, or a lidded metal can.")
    if coat.sheet.isocyanate:
        found.append("Isocyanate: supplied air, nobody else in the building.")
    elif coat.sheet.epoxy:
        found.append("Epoxy: gloves, sleeves; skin sensitises.")
    return found


def resin_cards(plan: Plan, words: Words) -> list[Card]:
    """A mixing card for each batch of epoxy."""
    if plan.finish is None:
        return []
    found = []
    for batch in plan.finish.resin.batches:
        parts = [("Resin", batch.resin, batch.resin_volume), ("Hardener", batch.hardener, batch.hardener_volume)]
        if batch.tint > 0:
            parts.append(("Colour", batch.tint, None))
        views = [
            CardPart(name=name, great=f"{grams} g", small=words.fill(volume) if volume else "")
            for name, grams, volume in parts
        ]
        into = ", ".join(f"{one.place} {one.grams} g" if one.grams >= 1 else f"{one.place} a brushful"
                         for one in batch.portions[:8])  # fmt: skip
        start = "First" if batch.start <= 0.0 else f"{hours_words(batch.start)} after the first batch"
        title = f"{'Thin epoxy' if batch.sort == 'thin' else 'Epoxy'}, batch {batch.number}"
        told = "; ".join(f"{part.name} {part.great}" for part in views)
        found.append(
            Card(
                key=f"{title}: {told}",
                title=title,
                parts=views,
                lines=[f"Into {into}.", f"{start}. Pourable for {batch.working:.0f} min, less in a deep cup."],
            )
        )
    return found


def cans_of(plan: Plan, words: Words) -> list[CanView]:
    """Cans to buy, and coatings of which no can size is stated."""
    if plan.finish is None:
        return []
    found = []
    for system in plan.finish.systems:
        canned = {can.coating for can in system.cans}
        found += [
            CanView(
                count=can.count,
                coating=can.coating,
                holds=words.fill(can.size * 1e6),
                money=words.money(can.price) if can.price is not None else "",
            )
            for can in system.cans
        ]
        for name in dict.fromkeys(coat.coating for coat in system.coats if coat.coating not in canned):
            litres = sum(coat.amount for coat in system.coats if coat.coating == name)
            found.append(CanView(count=0, coating=name, holds=words.fill(litres * 1e6), money=""))
    return found
