"""Files are written whole or not at all, and folders with other people's things are refused."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from builder import output
from builder.output import (
    OutputError,
    begin_folder,
    check_place,
    discard_folder,
    read_manifest,
)


def fill(staged: Path, text: str) -> None:
    (staged / "sub").mkdir()
    (staged / "index.html").write_text(text)
    (staged / "sub" / "page.html").write_text(text)


def make(folder: Path, text: str) -> None:
    staged = output.begin_folder(folder)
    fill(staged, text)
    output.finish_folder(staged, folder, {"pages": 2})


def leftovers(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.parent.iterdir() if path != folder)


def test_a_folder_is_made_and_made_again(tmp_path: Path) -> None:
    site = tmp_path / "site"
    make(site, "one")
    make(site, "two")
    assert (site / "index.html").read_text() == "two"
    assert output.read_manifest(site) == {"index.html", "sub/page.html"}
    assert leftovers(site) == []


def test_a_file_of_the_last_build_that_is_no_longer_made_goes(tmp_path: Path) -> None:
    site = tmp_path / "site"
    make(site, "one")
    staged = output.begin_folder(site)
    (staged / "index.html").write_text("only this")
    output.finish_folder(staged, site, {})
    assert sorted(path.name for path in site.iterdir()) == [output.MANIFEST, "index.html"]


def test_an_empty_folder_is_taken(tmp_path: Path) -> None:
    site = tmp_path / "site"
    site.mkdir()
    make(site, "one")
    assert (site / "index.html").read_text() == "one"


@pytest.mark.parametrize("name", ["thesis.txt", "sub/deep/photo.jpg", ".hidden"])
def test_foreign_files_are_refused_and_kept(tmp_path: Path, name: str) -> None:
    site = tmp_path / "site"
    make(site, "one")
    foreign = site / name
    foreign.parent.mkdir(parents=True, exist_ok=True)
    foreign.write_text("mine")
    with pytest.raises(output.OutputError, match=name):
        output.begin_folder(site)
    assert foreign.read_text() == "mine"
    assert (site / "index.html").read_text() == "one"


def test_a_folder_without_our_list_is_refused(tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text("someone's site")
    with pytest.raises(output.OutputError, match=r"index\.html"):
        output.begin_folder(tmp_path)


def test_a_damaged_list_counts_as_none(tmp_path: Path) -> None:
    site = tmp_path / "site"
    make(site, "one")
    (site / output.MANIFEST).write_text("{ not json")
    with pytest.raises(output.OutputError, match="holds things"):
        output.begin_folder(site)


def test_a_link_or_file_in_the_place_is_refused(tmp_path: Path) -> None:
    real = tmp_path / "real"
    real.mkdir()
    (tmp_path / "link").symlink_to(real)
    (tmp_path / "file").write_text("x")
    for name in ("link", "file"):
        with pytest.raises(output.OutputError, match="not a folder"):
            output.begin_folder(tmp_path / name)


def test_a_missing_parent_is_named(tmp_path: Path) -> None:
    with pytest.raises(output.OutputError, match="nowhere does not exist"):
        output.begin_folder(tmp_path / "nowhere" / "site")


def test_what_a_killed_build_left_is_cleared_and_the_site_stands(tmp_path: Path) -> None:
    site = tmp_path / "site"
    make(site, "one")
    abandoned = output.begin_folder(site)  # a build that was killed here never gets further
    fill(abandoned, "half")
    assert (site / "index.html").read_text() == "one"
    make(site, "two")
    assert not abandoned.exists()
    assert (site / "index.html").read_text() == "two"


def test_a_failed_swap_puts_the_old_site_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = tmp_path / "site"
    make(site, "one")
    staged = output.begin_folder(site)
    fill(staged, "two")
    rename = Path.rename

    def fail_second(self: Path, target: Path) -> Path:
        if self == staged:
            raise OSError(28, "No space left on device")
        return rename(self, target)

    monkeypatch.setattr(output, "_exchange", lambda one, other: False)
    monkeypatch.setattr(Path, "rename", fail_second)
    with pytest.raises(OSError, match="No space left"):
        output.finish_folder(staged, site, {})
    assert (site / "index.html").read_text() == "one"


def test_a_file_is_whole_or_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "keys.json"
    output.write_whole(path, b"old")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        output.write_whole(path, b"new and longer")
    assert path.read_bytes() == b"old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["keys.json"]


@pytest.mark.parametrize(("mask", "file", "folder"), [(0o022, 0o644, 0o755), (0o007, 0o660, 0o770)])
def test_who_may_read_is_as_for_all_files_of_the_user(
    tmp_path: Path, mask: int, file: int, folder: int
) -> None:
    before = os.umask(mask)
    try:
        make(tmp_path / "site", "one")
        output.write_files(tmp_path / "papers", {"a.pdf": b"one"})
        output.write_whole(tmp_path / "entry.yml", b"one")
    finally:
        os.umask(before)
    paths = [path for path in tmp_path.rglob("*") if path.parent != tmp_path / "site" / "sub"]
    assert len(paths) == 8
    for path in paths:
        wanted = folder if path.is_dir() else file
        assert path.stat().st_mode & 0o777 == wanted, path


def stop_at(number: int, work: Callable[[], None]) -> bool:
    """Do some work in a process of its own, which is stopped at a call to the system.

    Returns:
        Whether it was stopped; False where the work was done before so many calls.
    """
    child = os.fork()
    if child == 0:
        count = 0

        def hook(event: str, arguments: tuple[object, ...]) -> None:
            nonlocal count
            if event.startswith(("os.", "shutil.", "open", "tempfile.", "ctypes.")):
                count += 1
                if count >= number:
                    os._exit(9)

        sys.addaudithook(hook)
        work()
        os._exit(0)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status) == 9


@pytest.mark.parametrize("exchanges", [True, False])
def test_a_site_stands_after_a_stop_at_any_call(tmp_path: Path, exchanges: bool) -> None:
    """Whole and old, or whole and new, at every moment, or else after the next build begins."""
    site = tmp_path / "site"
    make(site, "old")
    if exchanges:
        probe = [tmp_path / "one", tmp_path / "two"]
        for each in probe:
            each.mkdir()
        assert output._exchange(*probe), "this file system exchanges folders"

    def build() -> None:
        if not exchanges:
            output._exchange = lambda one, other: False
        make(site, "new")

    number, stopped, gaps = 0, True, 0
    while stopped:
        number += 1
        stopped = stop_at(number, build)
        if not site.exists():
            gaps += 1
            assert not exchanges, f"no site after a stop at call {number}"
            discard_folder(begin_folder(site))
        texts = {path.read_text() for path in site.glob("*.html")}
        assert texts in ({"old"}, {"new"}), f"after a stop at call {number}"
        assert read_manifest(site)
    assert number > 20
    assert (gaps > 0) == (not exchanges)
    make(site, "newest")
    assert [name for name in leftovers(site) if name not in ("one", "two")] == []


@pytest.mark.parametrize("place", ["lessons", "lessons/site", "kb/fixes", "by-link"])
def test_nothing_is_written_into_the_course(tmp_path: Path, place: str) -> None:
    for name in ("lessons", "kb"):
        (tmp_path / name).mkdir()
    (tmp_path / "outside").mkdir()
    (tmp_path / "by-link").symlink_to(tmp_path / "outside")
    (tmp_path / "other-name").symlink_to(tmp_path / "kb")
    with pytest.raises(OutputError, match=place):
        check_place(tmp_path, tmp_path / place)
    with pytest.raises(OutputError, match="other-name"):
        check_place(tmp_path, tmp_path / "other-name" / "site")
    check_place(tmp_path, tmp_path / "site")
    check_place(tmp_path, tmp_path)
