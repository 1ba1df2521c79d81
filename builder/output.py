"""Writing files so that nothing is lost: whole or not at all, and never over other people's things.

A folder of results is made beside its place under another name and put there by renaming, so that a
reader never meets half a site and a failure leaves the old one as it stood. A folder carries a list
of what was written; one that holds anything else is refused.
"""

from __future__ import annotations

import ctypes
import hashlib
import json
import os
import secrets
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

MANIFEST = ".benchlore.json"
"""Name of the list of files that marks a folder as ours."""


COURSE_FOLDERS = ("lessons", "kb")
"""Where the content of a course stands; no results go there."""


class OutputError(Exception):
    """A place that cannot be written to; the text is a sentence for the person who chose it."""


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all.

    Args:
        path: Where; its folder must exist.
        data: All of it.

    Raises:
        OSError: If it cannot be written; what stood there before still stands.
    """
    staged = path.with_name(f".{path.name}.{secrets.token_hex(6)}")
    try:
        # Made by `open`, so that who may read it is as the user has set for all new files.
        with staged.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        staged.replace(path)
    except BaseException:
        staged.unlink(missing_ok=True)
        raise


def _make_folder_in(folder: Path, prefix: str) -> Path:
    """Make an empty folder under a new name; who may enter it is as for all new folders."""
    made = folder / f"{prefix}{secrets.token_hex(6)}"
    made.mkdir()
    return made


def check_place(course: Path, folder: Path) -> None:
    """Make sure that results do not go where a course is kept, before any work is done.

    Args:
        course: The course folder.
        folder: Where the results are to go.

    Raises:
        OutputError: If that is in the content of the course, or a link.
    """
    if folder.is_symlink():
        raise OutputError(f"{folder} is a link to another folder; name that folder itself")
    place = folder.resolve()
    for name in COURSE_FOLDERS:
        kept = (course / name).resolve()
        if place == kept or kept in place.parents:
            raise OutputError(
                f"{folder} lies in {course / name}, where the course itself is kept; "
                "choose another folder"
            )


def check_output_folder(folder: Path) -> None:
    """Make sure that a folder of results may be replaced.

    Raises:
        OutputError: If it holds anything that was not written by us, or cannot be written beside.
    """
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise OutputError(f"{folder} is not a folder; choose another place")
    parent = folder.resolve().parent
    if not parent.is_dir():
        raise OutputError(f"{parent} does not exist; make it first")
    if not os.access(parent, os.W_OK | os.X_OK):
        raise OutputError(f"{parent} cannot be written to; choose another place")
    if not folder.exists():
        return
    present = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if _is_file(path)}
    if not present:
        return
    foreign = sorted(present - read_manifest(folder) - {MANIFEST})
    if foreign:
        some = ", ".join(foreign[:3]) + (" and more" if len(foreign) > 3 else "")
        raise OutputError(
            f"{folder} holds things that were not made here ({some}); "
            "choose an empty folder, or move them away"
        )


def _is_file(path: Path) -> bool:
    return path.is_symlink() or path.is_file()


def read_manifest(folder: Path) -> set[str]:
    """Give the files of a folder that we wrote; empty where the folder bears no list."""
    try:
        listed = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        return {str(name) for name in listed["files"]}
    except (OSError, ValueError, TypeError, KeyError):
        return set()


def begin_folder(folder: Path) -> Path:
    """Make an empty folder beside the place where results will stand, and clear left-overs.

    Raises:
        OutputError: As `check_output_folder`.
    """
    check_output_folder(folder)
    target = folder.resolve()
    _put_back(target)
    for left in target.parent.glob(f".{target.name}.part-*"):
        shutil.rmtree(left, ignore_errors=True)
    try:
        return _make_folder_in(target.parent, f".{target.name}.part-")
    except OSError as error:
        raise OutputError(f"{target.parent} cannot be written to: {error.strerror}") from error


def finish_folder(staged: Path, folder: Path, facts: dict[str, Any]) -> None:
    """Put a finished folder in its place.

    Args:
        staged: What `begin_folder` gave, filled.
        folder: The place.
        facts: Written into the list of files, for instance the number of pages.

    Raises:
        OSError: If it cannot be put there; what stood there before still stands.
    """
    names = sorted(
        path.relative_to(staged).as_posix() for path in staged.rglob("*") if _is_file(path)
    )
    body = json.dumps({**facts, "files": names}, indent=1, sort_keys=True)
    write_whole(staged / MANIFEST, body.encode())
    target = folder.resolve()
    if not target.exists():
        staged.rename(target)
        return
    if _exchange(staged, target):
        shutil.rmtree(staged, ignore_errors=True)  # it holds what stood there before
        return
    # Between the two renames there is no folder; a stop there is mended by `_put_back`.
    aside = target.with_name(f"{staged.name}.old")
    target.rename(aside)
    try:
        staged.rename(target)
    except BaseException:
        aside.rename(target)
        raise
    shutil.rmtree(aside, ignore_errors=True)


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step, so that there is no moment without either.

    Returns:
        False where the system or the file system cannot: it is then as if nothing had been asked.
    """
    try:
        library = ctypes.CDLL(None, use_errno=True)
    except (OSError, TypeError):
        return False  # Windows
    names = os.fsencode(one), os.fsencode(other)
    if hasattr(library, "renameat2"):  # Linux
        here = -100  # AT_FDCWD: the names are as this process sees them
        return bool(library.renameat2(here, names[0], here, names[1], 2) == 0)  # RENAME_EXCHANGE
    if hasattr(library, "renamex_np"):  # macOS
        return bool(library.renamex_np(names[0], names[1], 2) == 0)  # RENAME_SWAP
    return False


def _put_back(target: Path) -> None:
    """Put back what a stop between two renames left aside."""
    if target.exists():
        return
    left = sorted(
        target.parent.glob(f".{target.name}.part-*.old"), key=lambda each: each.stat().st_mtime
    )
    if left:
        left[-1].rename(target)


def write_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Put some files into a folder, all of them or none, beside whatever stands there.

    Files of the same name are replaced where we wrote them and nobody has changed them since.

    Args:
        folder: Where; made with its parents where it is missing.
        files: Contents by name.

    Raises:
        OutputError: If a file of that name is not ours, or was changed, or the folder cannot be
            written to.
    """
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise OutputError(f"{folder} is not a folder; choose another place")
    known = read_manifest(folder)
    foreign = sorted(name for name in files if (folder / name).exists() and name not in known)
    if foreign:
        raise OutputError(
            f"{folder} holds {', '.join(foreign)} that {'was' if len(foreign) == 1 else 'were'} "
            "not made here; choose another folder, or move it away"
        )
    marks = _read_marks(folder)
    changed = sorted(name for name in files if not _is_as_written(folder / name, marks.get(name)))
    if changed:
        raise OutputError(
            f"{', '.join(changed)} in {folder} {'was' if len(changed) == 1 else 'were'} changed "
            "since we wrote it; move it away, or choose another folder"
        )
    new = {name: _mark(contents) for name, contents in files.items()}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        staged = _make_folder_in(folder, ".part-")
    except OSError as error:
        raise OutputError(f"{folder} cannot be written to: {error.strerror}") from error
    try:
        for name, contents in files.items():
            write_whole(staged / name, contents)
        # Should we be stopped half-way, old and new contents both count as ours.
        both = {**marks, **{name: [*marks.get(name, ()), new[name]] for name in files}}
        _write_list(folder, {*known, *files}, both)
        for name in files:
            os.replace(staged / name, folder / name)
        _write_list(folder, {*known, *files}, {**marks, **{name: [new[name]] for name in files}})
    except OSError as error:
        raise OutputError(f"{folder} cannot be written to: {error.strerror}") from error
    finally:
        discard_folder(staged)


def _mark(contents: bytes) -> str:
    return hashlib.sha256(contents).hexdigest()[:32]


def _read_marks(folder: Path) -> dict[str, list[str]]:
    """Read by which marks the files of a folder are known."""
    try:
        listed = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))["marks"]
        return {str(name): [str(mark) for mark in marks] for name, marks in listed.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _is_as_written(path: Path, marks: list[str] | None) -> bool:
    if marks is None:
        return True  # written before there were marks, or not there
    try:
        return _mark(path.read_bytes()) in marks
    except OSError:
        return True


def _write_list(folder: Path, names: set[str], marks: Mapping[str, list[str]]) -> None:
    body = json.dumps({"files": sorted(names), "marks": dict(sorted(marks.items()))}, indent=1)
    write_whole(folder / MANIFEST, body.encode())


def discard_folder(staged: Path) -> None:
    """Remove a folder of `begin_folder` that will not be finished."""
    shutil.rmtree(staged, ignore_errors=True)
