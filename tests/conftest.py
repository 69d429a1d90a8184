"""What all tests share: no deadline for drawn cases, for a busy machine is not a fault."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("project", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
settings.load_profile("project")
