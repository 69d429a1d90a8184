"""What the maker states: models, reading and writing the job file, its JSON Schema."""

from slabwright.job.load import load_job
from slabwright.job.loaded import Job, Place, Readings
from slabwright.job.models import JobFile, ShopFile

__all__ = ["Job", "JobFile", "Place", "Readings", "ShopFile", "load_job"]
