"""Slabwright: one commissioned table, from the brief and the measured slab to the bench."""

__version__ = "0.1.0"
