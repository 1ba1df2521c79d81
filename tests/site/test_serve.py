"""The live site: it follows an edit, and shows findings in the terminal and on the page."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from builder.cli import main

pytestmark = pytest.mark.site
PATIENCE_SECONDS = 40


def find_free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])


def wait_for(found: Callable[[], bool], what: str) -> None:
    end = time.monotonic() + PATIENCE_SECONDS
    while time.monotonic() < end:
        if found():
            return
        time.sleep(0.2)
    raise AssertionError(f"waited {PATIENCE_SECONDS} s for {what}")


@pytest.fixture
def course(tmp_path: Path) -> Path:
    made = CliRunner().invoke(main, ["new", "course", "Paper", "--course", str(tmp_path)])
    assert made.exit_code == 0, made.output
    return tmp_path / "paper"


@pytest.fixture
def served(course: Path) -> Iterator[tuple[str, Path]]:
    port = find_free_port()
    log = course.parent / "log.txt"
    with log.open("w") as file:
        process = subprocess.Popen(
            [sys.executable, "-m", "builder", "serve", "--address", f"127.0.0.1:{port}"],
            cwd=course,
            env={**os.environ, "PYTHONWARNINGS": "", "PYTHONUNBUFFERED": "1"},
            stdout=file,
            stderr=subprocess.STDOUT,
        )
        try:
            yield f"http://127.0.0.1:{port}/", log
        finally:
            process.send_signal(signal.SIGINT)
            process.wait(timeout=20)


def read(address: str) -> str:
    try:
        with urllib.request.urlopen(address, timeout=5) as answer:
            return str(answer.read().decode())
    except OSError:
        return ""


def test_an_edit_shows_and_an_error_shows_beside_the_last_good_page(
    course: Path, served: tuple[str, Path]
) -> None:
    address, log = served
    page = f"{address}lessons/first-steps/index.html"
    lesson = course / "lessons" / "main" / "first-steps.yml"
    wait_for(lambda: "First steps" in read(page), "the first page")

    good = lesson.read_text()
    lesson.write_text(good.replace("title: First steps", "title: Second thoughts"))
    wait_for(lambda: "Second thoughts" in read(page), "the edit")

    lesson.write_text(good.replace("level: beginner", "level: wizard"))
    wait_for(lambda: "wizard" in read(page), "the finding on the page")
    assert "Second thoughts" in read(page)  # the last good content still stands
    assert "lessons/main/first-steps.yml:3:8" in log.read_text()
    assert "Traceback" not in log.read_text()

    lesson.write_text(good)
    wait_for(lambda: "First steps" in read(page) and "wizard" not in read(page), "the mend")
