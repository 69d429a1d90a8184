"""Reading the files that hold readings and outlines: lists, wide grids, scans, drawings."""

from slabwright.job.readings.load import load_readings

__all__ = ["load_readings"]
