"""Shared set-up of all tests: how many examples hypothesis tries."""

from __future__ import annotations

import gc
import os

import pytest
from hypothesis import HealthCheck, settings

# Small by default, so that the tests can be run at each save; the same examples every time.
settings.register_profile(
    "small",
    max_examples=40,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("large", max_examples=2000, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "small"))


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--accept", action="store_true", help="write what was found over the kept files"
    )


def pytest_collection_finish() -> None:
    """Leave what is there for good out of every look for rubbish to come, and look less often."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


@pytest.fixture
def accept(request: pytest.FixtureRequest) -> bool:
    """Whether kept files are to be written anew; read the diff before you commit it."""
    return bool(request.config.getoption("--accept"))
