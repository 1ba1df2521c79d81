"""The course folder as a `Library`: every entry typed and indexed, every place on record.

Reading is in two parts, so that tests need no disk: `collect_files` takes the YAML files of a
folder into memory, `build_library` makes entries of them. Whatever is wrong becomes a finding; the
broken entry is left out and the rest goes on.
"""

from __future__ import annotations

from builder.library.entries import Library, Source, walk_references
from builder.library.loader import (
    DRAWINGS,
    FOLDERS,
    build_library,
    collect_files,
    load_library,
)

__all__ = [
    "DRAWINGS",
    "FOLDERS",
    "Library",
    "Source",
    "build_library",
    "collect_files",
    "load_library",
    "walk_references",
]
