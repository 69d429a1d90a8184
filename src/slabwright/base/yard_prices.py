"""Lengths of steel with what the yard asks for them, so that what is bought is the cheapest and not the shortest."""

from __future__ import annotations

from collections.abc import Iterable

from slabwright.base.cut_list import default_supplies
from slabwright.base.cut_list_results import Supply
from slabwright.base.sections import section
from slabwright.job.loaded import Job
from slabwright.job.selling import Measured, dated, price_of_one, seller, sold_by
from slabwright.quantities import format_length


def steel_supplies(job: Job, sections: Iterable[str]) -> list[Supply]:
    """Lengths of each section that the yard sells, with their prices where suppliers state them.

    Args:
        job: with the shop's `[steel]` and `[[suppliers]]`; prices that hold from a day on go by the job's date
        sections: names of the sections that are wanted

    Returns:
        Lengths by section; lengths of any section where no price of steel is stated.
    """
    shop, units = job.shop, job.stated.job.units
    lengths = shop.steel.lengths or [supply.length for supply in default_supplies(units)]
    found = [Supply(length) for length in lengths]
    if not any(supplier.sells and "steel" in supplier.what for supplier in shop.suppliers):
        return found
    day = dated(job.stated)
    for name in dict.fromkeys(sections):
        mass = section(name, units).mass_per_metre
        for length in lengths:
            what = f"{name}, {format_length(length, units)}"
            sold = sold_by(seller(shop.suppliers, what, "steel"), what, "steel", day)
            one = Measured("length", metres=length / 1000.0, kilograms=mass * length / 1000.0)
            price = price_of_one(one, sold) if sold is not None else None
            found.append(Supply(length, price, section=name))
    return found
