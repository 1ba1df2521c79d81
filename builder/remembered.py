"""What is kept between runs, because compiling the same text again costs most of a build.

What is kept is a plain function of the text it was made of, so it is named by a hash of that text
and of the compiler; it may be deleted at any time. Where nothing can be kept, nothing is.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from builder.output import write_whole

if TYPE_CHECKING:
    from jinja2 import BytecodeCache


@cache
def find_folder(name: str = "scripts") -> Path | None:
    """Find the folder that the system sets aside for such things; None where it cannot be made.

    Args:
        name: What is kept there: compiled `scripts`, or `templates`.
    """
    from platformdirs import user_cache_path

    try:
        folder = user_cache_path("benchlore") / name
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


def remember_templates() -> BytecodeCache | None:
    """Give what keeps compiled templates for their engine; None where nothing can be kept."""
    from jinja2.bccache import Bucket, FileSystemBytecodeCache

    class Kept(FileSystemBytecodeCache):
        def dump_bytecode(self, bucket: Bucket) -> None:
            with contextlib.suppress(OSError):
                super().dump_bytecode(bucket)

    folder = find_folder("templates")
    return Kept(str(folder)) if folder else None
