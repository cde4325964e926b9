"""What holds for every test: a generated example may take as long as the machine needs, and
what waits for a clock is begun first."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("untimed")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the tests that wait, which leave the cores to others."""
    items.sort(key=lambda item: item.get_closest_marker("waits") is None)
