"""The shipped site as a fixture."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.shipped import build_shipped


@pytest.fixture(scope="session")
def shipped_site() -> Path:
    """Folder of the shipped course's site, built once."""
    return build_shipped()
