"""Scripts kept between runs: the same text, never a stale or a broken one."""

from __future__ import annotations

from pathlib import Path

import pytest

from builder import remembered
from builder.formulas import javascript


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(remembered, "find_folder", lambda: tmp_path)
    return tmp_path


def test_a_text_is_made_once(folder: Path) -> None:
    made: list[int] = []

    def make() -> str:
        made.append(1)
        return "a\nb"

    assert remembered.remember(make, "x") == "a\nb"
    assert remembered.remember(make, "x") == "a\nb"
    assert remembered.remember(make, "y") == "a\nb"
    assert len(made) == 2
    assert len(list(folder.iterdir())) == 2


@pytest.mark.parametrize("damage", [b"", b"a", b"\xff\xfe", b"evil\n//wrong"])
def test_a_damaged_file_is_made_anew(folder: Path, damage: bytes) -> None:
    remembered.remember(lambda: "right", "x")
    (path,) = folder.iterdir()
    path.write_bytes(damage)
    assert remembered.remember(lambda: "right", "x") == "right"
    assert remembered.remember(lambda: "not called", "x") == "right"


def test_where_nothing_can_be_kept_all_is_made(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(remembered, "find_folder", lambda: None)
    assert remembered.remember(lambda: "one", "x") == "one"
    assert remembered.remember(lambda: "two", "x") == "two"
    monkeypatch.setattr(remembered, "find_folder", lambda: Path("/proc/none"))
    assert remembered.remember(lambda: "three", "x") == "three"


def test_a_kept_script_is_what_the_compiler_gives(folder: Path) -> None:
    source = "def double(a):\n    return a * 2\n"
    first = javascript.compile_source(source)
    assert javascript.compile_source(source) == first
    assert first == javascript._compile(source, True)
    assert javascript.compile_source(source, library=False) != first
