"""Compiled templates, kept between runs. Where nothing can be kept, nothing is."""

from __future__ import annotations

import contextlib
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import BytecodeCache


@cache
def find_folder(name: str) -> Path | None:
    """Find the folder that the system sets aside for such things; None where it cannot be made."""
    from platformdirs import user_cache_path

    try:
        folder = user_cache_path("benchlore") / name
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, RuntimeError):
        return None
    return folder


def remember_templates() -> BytecodeCache | None:
    """Give what keeps compiled templates for their engine; None where nothing can be kept."""
    from jinja2.bccache import Bucket, FileSystemBytecodeCache

    class Kept(FileSystemBytecodeCache):
        def dump_bytecode(self, bucket: Bucket) -> None:
            with contextlib.suppress(OSError):
                super().dump_bytecode(bucket)

    folder = find_folder("templates")
    return Kept(str(folder)) if folder else None
