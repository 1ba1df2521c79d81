"""The real host: what stands when a build goes wrong, and what it writes.

Each test builds a small course of its own, so that the shipped one is not touched.
"""

from __future__ import annotations

import json
import os
import resource
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

COURSE = Path(__file__).parent.parent / "courses"
pytestmark = pytest.mark.site


def run(*words: str | Path, cwd: Path, **more: object) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "NO_MKDOCS_2_WARNING": "1", "PYTHONWARNINGS": ""}
    return subprocess.run(
        [sys.executable, "-m", *map(str, words)],
        cwd=cwd,
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        **more,  # type: ignore[call-overload]
    )


def snapshot(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def neighbours(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.parent.iterdir() if path.name.startswith(".site"))


@pytest.fixture(scope="module")
def built_course(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A course as `new course` writes it, built once; tests work on copies of it."""
    folder = tmp_path_factory.mktemp("new")
    made = run("builder", "new", "course", "Paper flowers", cwd=folder)
    assert made.returncode == 0, made.stderr
    root = folder / "paper-flowers"
    built = run("builder", "build", cwd=root)
    assert built.returncode == 0, built.stdout + built.stderr
    return root


@pytest.fixture
def course(tmp_path: Path, built_course: Path) -> Path:
    """A fresh course with the site that stands."""
    return Path(shutil.copytree(built_course, tmp_path / "paper-flowers"))


def test_a_new_course_checks_and_builds(course: Path) -> None:
    checked = run("builder", "check", "--format", "json", cwd=course)
    assert checked.returncode == 0
    assert json.loads(checked.stdout)["findings"] == []
    assert (course / "site" / "index.html").is_file()
    assert (course / "site" / "lessons" / "first-steps" / "index.html").is_file()
    assert (course / "site" / "404.html").is_file()


def test_build_reports_json_and_nothing_else(course: Path) -> None:
    built = run("builder", "build", "--format", "json", cwd=course)
    result = json.loads(built.stdout)
    assert built.stderr == ""
    assert set(result) == {"pages", "seconds", "out"}
    assert result["pages"] == len(list((course / "site").rglob("index.html")))


@pytest.mark.parametrize("command", [("builder", "build"), ("mkdocs", "build")])
def test_errors_in_the_content_leave_the_site(course: Path, command: tuple[str, ...]) -> None:
    before = snapshot(course / "site")
    lesson = course / "lessons" / "main" / "first-steps.yml"
    lesson.write_text(lesson.read_text().replace("level: beginner", "level: wizard"))
    built = run(*command, cwd=course)
    assert built.returncode == 1
    assert "lessons/main/first-steps.yml:3:8" in built.stdout + built.stderr
    assert "wizard" in built.stdout + built.stderr
    assert "Traceback" not in built.stdout + built.stderr
    assert snapshot(course / "site") == before


def add_hook(course: Path, body: str) -> None:
    (course / "hook.py").write_text(body)
    settings = course / "mkdocs.yml"
    settings.write_text(settings.read_text() + "hooks: [hook.py]\n")


def test_a_killed_build_leaves_the_site_and_the_next_one_clears_up(course: Path) -> None:
    before = snapshot(course / "site")
    add_hook(
        course,
        "import os, signal\n"
        "def on_post_page(output, page, config):\n"
        "    if 'first-steps' in page.file.src_uri:\n"
        "        os.kill(os.getpid(), signal.SIGKILL)\n"
        "    return output\n",
    )
    killed = run("mkdocs", "build", cwd=course)
    assert killed.returncode == -signal.SIGKILL
    assert snapshot(course / "site") == before
    assert neighbours(course / "site") != []
    (course / "hook.py").write_text("")
    assert run("mkdocs", "build", cwd=course).returncode == 0
    assert neighbours(course / "site") == []


def test_a_disk_that_takes_no_more_leaves_the_site(course: Path) -> None:
    before = snapshot(course / "site")

    def limit_files() -> None:
        # Every write past 20 kB fails as on a full disk; the main style sheet is larger.
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    built = run("builder", "build", cwd=course, preexec_fn=limit_files)
    assert built.returncode == 2, built.stdout + built.stderr
    assert "could not be written" in built.stderr
    assert "Traceback" not in built.stderr
    assert snapshot(course / "site") == before
    assert neighbours(course / "site") == []


def test_a_folder_that_cannot_be_written_is_named(course: Path) -> None:
    before = snapshot(course / "site")
    built = run("builder", "build", "--out", "/proc/site", cwd=course)
    assert built.returncode == 2
    assert "/proc cannot be written to" in built.stderr
    assert "Traceback" not in built.stderr
    assert snapshot(course / "site") == before


def test_a_folder_with_foreign_files_is_refused(course: Path, tmp_path: Path) -> None:
    thesis = tmp_path / "papers" / "thesis.txt"
    thesis.parent.mkdir()
    thesis.write_text("mine")
    built = run("builder", "build", "--out", str(thesis.parent), cwd=course)
    assert built.returncode == 2
    assert "thesis.txt" in built.stderr
    assert snapshot(thesis.parent) == {"thesis.txt": b"mine"}
    host = run("mkdocs", "build", "-d", str(thesis.parent), cwd=course)
    assert host.returncode != 0
    assert snapshot(thesis.parent) == {"thesis.txt": b"mine"}


def test_a_course_without_settings_or_plugin_is_told_so(course: Path) -> None:
    settings = course / "mkdocs.yml"
    text = settings.read_text()
    settings.write_text(text.replace("plugins: [benchlore]", "plugins: []"))
    without = run("builder", "build", cwd=course)
    assert without.returncode == 2
    assert "must list benchlore among its plugins" in without.stderr
    settings.unlink()
    missing = run("builder", "build", cwd=course)
    assert missing.returncode == 2
    assert "mkdocs.yml is missing" in missing.stderr


def test_two_builds_of_one_course_are_alike(course: Path) -> None:
    first = snapshot(course / "site")
    assert run("builder", "build", cwd=course).returncode == 0
    second = snapshot(course / "site")
    dated = {"sitemap.xml", "sitemap.xml.gz"}  # the host stamps the day of the build
    assert {k: v for k, v in first.items() if k not in dated} == {
        k: v for k, v in second.items() if k not in dated
    }


@pytest.mark.parametrize("name", sorted(path.name for path in COURSE.iterdir() if path.is_dir()))
def test_a_course_of_another_craft_builds_strictly(name: str, tmp_path: Path) -> None:
    root = tmp_path / name
    shutil.copytree(COURSE / name, root)
    built = run("builder", "build", "--strict", cwd=root)
    assert built.returncode == 0, built.stdout + built.stderr
    assert len(list((root / "site" / "lessons").rglob("index.html"))) >= 3
