"""How much the tests try: little at each save, much where there is time (`make thorough`)."""

from __future__ import annotations

import os

THOROUGH = os.environ.get("BENCHLORE_TESTS") == "thorough"


def choose(usual: int, thorough: int) -> int:
    """Give how many of something a test tries."""
    return thorough if THOROUGH else usual
