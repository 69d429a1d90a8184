"""What all tests share: one thread for linear algebra (small matrices wait for each other), and no deadline for drawn cases."""

from __future__ import annotations

import os

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

from hypothesis import HealthCheck, settings  # noqa: E402

settings.register_profile("project", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
settings.load_profile("project")
