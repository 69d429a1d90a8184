"""Figures as the bench reads them, metric or in inches."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright import quantities
from slabwright.quantities import INCH as _INCH
from slabwright.quantities import Units
from slabwright.reference.money import format_money

_FLUID_OUNCE = 231 * _INCH**3 / 128
"""One fluid ounce of the United States [mm3]: a gallon of 231 cubic inches has 128 of them (NIST SP 811, appendix B)."""
_SAME = 0.0015 * _INCH
"""A board this near to a sixteenth of an inch is that sixteenth to everyone at the bench [mm]."""
NO_BREAK = "\u00a0"


def plain(text: str, most: int) -> str:
    """A text on one line that is no longer than `most`, without what cannot be printed."""
    text = " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


@dataclass(frozen=True)
class Words:
    """How figures are written on the sheets of one job.

    Attributes:
        units: metric or inch
        currency: three letters
    """

    units: Units
    currency: str = "EUR"

    @property
    def metric(self) -> bool:
        """Whether lengths are millimetres."""
        return self.units == "metric"

    @property
    def unit(self) -> str:
        """The unit of `number`."""
        return "mm" if self.metric else "in"

    @property
    def unit_word(self) -> str:
        """The unit of `number`, in a sentence."""
        return "mm" if self.metric else "inches"

    def place(self, mm: float) -> str:
        """A position or a size that a tape measures."""
        return quantities.format_length(mm, self.units, 0 if self.metric else None).replace(" ", NO_BREAK)

    def fine(self, mm: float) -> str:
        """A thickness or a depth: tenths of a millimetre, thousandths of an inch."""
        return quantities.format_length(mm, self.units, 1)

    def rounded(self, mm: float) -> float:
        """A length as `fine` prints it, so that what is printed adds up [mm]."""
        step = 0.1 if self.metric else 0.001 * _INCH
        return round(mm / step) * step

    def signed(self, mm: float) -> str:
        """A height above a plane, with its sign."""
        return ("+" if mm > 0 else "") + self.fine(mm).replace("-", "−")

    def finer(self, mm: float) -> str:
        """A loss: hundredths of a millimetre, thousandths of an inch."""
        return quantities.format_length(mm, self.units, 2 if self.metric else 1)

    def number(self, mm: float, decimals: int = 1) -> str:
        """A figure without its unit, for tables and great figures; `decimals` of a millimetre."""
        text = f"{mm:.{decimals}f}" if self.metric else f"{mm / _INCH:.3f}"
        return text.lstrip("-") if float(text) == 0.0 else text.replace("-", "−")

    def shim(self, mm: float) -> str:
        """The thickness of a shim as it is marked, without its unit."""
        return (f"{mm:.2f}".rstrip("0").rstrip(".") or "0") if self.metric else f"{mm / _INCH:.3f}"

    def least(self, mm: float) -> str:
        """A thickness that is promised, rounded down."""
        return quantities.format_least(mm, self.units)

    def least_number(self, mm: float) -> str:
        """A thickness that is promised, rounded down, without its unit."""
        return self.number(quantities.rounded_down(mm, self.units))

    def board(self, mm: float) -> str:
        """A board's thickness; in inches with the sixteenth that it is, where it is one."""
        if self.metric:
            return self.fine(mm)
        text, off = quantities.nearest_fraction(mm)
        return self.fine(mm) + (f" ({text.replace(' ', NO_BREAK)})" if abs(off) < _SAME else "")

    def force(self, newtons: float) -> str:
        """A force."""
        return quantities.format_force(newtons, self.units)

    def force_least(self, newtons: float) -> str:
        """A force that is borne at least, rounded down."""
        step = 1.0 if self.metric else quantities.POUND_FORCE
        return quantities.format_force(quantities.kept_true(newtons, step, "down"), self.units)

    @property
    def reading_distance(self) -> str:
        """From how far the stacks are to be read."""
        return "two metres" if self.metric else "6 ft"

    def area(self, mm2: float) -> str:
        """An area."""
        return quantities.format_area(mm2, self.units)

    def fill(self, mm3: float) -> str:
        """A volume of something poured: ml or litres, fluid ounces."""
        if self.metric:
            return quantities.format_volume(mm3, self.units)
        ounces = mm3 / _FLUID_OUNCE
        return f"{ounces:.{1 if abs(ounces) < 10 else 0}f} fl oz"

    def chips(self, mm3: float) -> str:
        """A volume of wood that is cut off."""
        if self.metric:
            return f"{mm3 / 1e6:.1f} l" if mm3 >= 0.5e6 else f"{mm3 / 1e3:.{0 if mm3 >= 1e4 else 1}f} cm³"
        return quantities.format_volume(mm3, self.units)

    def volume_number(self, mm3: float) -> float:
        """A volume of fill in the unit of `volume_unit`."""
        return mm3 / 1e6 if self.metric else mm3 / _FLUID_OUNCE

    @property
    def volume_unit(self) -> str:
        """The unit of a chart's volumes of fill."""
        return "litres" if self.metric else "fluid ounces"

    def grams(self, kilograms: float) -> str:
        """A mass on the bench scale."""
        grams = kilograms * 1000.0
        if grams < 9.95:
            return f"{grams:.1f} g"
        return f"{grams:.0f} g" if self.metric else f"{grams:.0f} g ({grams / 28.349523125:.1f} oz)"

    def weight(self, kilograms: float) -> str:
        """A weight that hands carry."""
        return f"{kilograms:.0f} kg" if self.metric else f"{kilograms / 0.45359237:.0f} lb"

    def weight_most(self, kilograms: float) -> str:
        """A weight that is promised at most, rounded up."""
        return self.weight(quantities.kept_true(kilograms, 1.0 if self.metric else 0.45359237, "up"))

    def weight_least(self, kilograms: float) -> str:
        """A weight that is borne at least, rounded down."""
        return self.weight(quantities.kept_true(kilograms, 1.0 if self.metric else 0.45359237, "down"))

    def money(self, amount: float | None) -> str:
        """Money in the job's currency."""
        return "no price" if amount is None else format_money(amount, self.currency)

    def days(self, days: float) -> str:
        """A span of days."""
        text = f"{days:.1f}".removesuffix(".0")
        return f"{text} day" if text == "1" else f"{text} days"
