"""What holds for every test: a generated example may take as long as the machine needs."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile(
    "untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("untimed")
