"""Compiled scripts kept between runs, because compiling the same text again costs most of a build.

What is kept is a plain function of the text it was made of, so it is named by a hash of that text
and of the compiler; it may be deleted at any time. Where nothing can be kept, nothing is.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path

from builder.output import write_whole


@cache
def find_folder() -> Path | None:
    """Find the folder that the system sets aside for such things; None where it cannot be made."""
    from platformdirs import user_cache_path

    try:
        folder = user_cache_path("benchlore") / "scripts"
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, RuntimeError):
        return None
    return folder


def remember(make: Callable[[], str], *parts: str) -> str:
    """Give what `make` gives, from an earlier run where that was kept.

    Args:
        make: Makes the text; called only where it is not there.
        parts: Everything that the text depends on, the compiler's own version included.
    """
    folder = find_folder()
    if folder is None:
        return make()
    name = hashlib.sha256("\0".join(parts).encode()).hexdigest()
    path = folder / f"{name}.js"
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        text = ""
    # The last line says that the file is whole and is what its name says.
    body, _, seal = text.rpartition("\n//")
    if seal == name:
        return body
    made = make()
    with contextlib.suppress(OSError):
        write_whole(path, f"{made}\n//{name}".encode())
    return made
