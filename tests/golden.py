"""Kept files: what is made is compared with a file under `tests/golden/`, line by line.

A difference fails the test and is shown. To keep what was made: `pytest --accept`, then read the
diff before you commit it. Beside each kept file a plain assertion says what the test is about.
"""

from __future__ import annotations

from difflib import unified_diff
from pathlib import Path

FOLDER = Path(__file__).parent / "golden"


def check_golden(name: str, text: str, accept: bool) -> None:
    """Compare a text with the file kept for it.

    Args:
        name: Of the file under `tests/golden/`, for instance `lesson.html`.
        text: What was made; a missing end of line is added.
        accept: The fixture of that name: write the text over the file instead.
    """
    path = FOLDER / name
    made = text if text.endswith("\n") else f"{text}\n"
    if accept:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(made, encoding="utf-8")
        return
    kept = path.read_text(encoding="utf-8") if path.is_file() else ""
    if made != kept:
        changes = unified_diff(kept.splitlines(), made.splitlines(), f"kept {name}", "made", n=2)
        shown = "\n".join(list(changes)[:80])
        raise AssertionError(f"{shown}\nIf this is meant: pytest --accept, and read the diff.")
