"""Passes over the warnings of libraries: they are meant for programmers, and never end a build."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def pass_over_library_warnings() -> Iterator[None]:
    """Pass over what is warned of outside this package, also where warnings count as errors."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", module=r"(?!builder\b)")
        yield
