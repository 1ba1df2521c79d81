"""The set-up of both commands, with a stand-in for Python: what it says, makes and clears away."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
SETUP = "builder/setup/environment.sh"
OFFLINE, ONLINE = {"PIP_EXIT": "1"}, {"PIP_EXIT": "0"}

# Answers as Python does to what the set-up asks; writes down what it was called with.
STAND_IN = """#!/bin/sh
echo "$*" >>"$CALLS"
case "$*" in
*"version_info[:2]"*) echo "${VERSION:-3.13}" ;;
*"version_info < "*) [ "${VERSION:-3.13}" != 3.9 ] ;;
*ensurepip*) [ -z "${NO_VENV:-}" ] ;;
*base_prefix*) echo "${VERSION:-3.13} ${PREFIX:-/usr}" ;;
"-m venv "*) mkdir -p .venv/bin && cp "$0" .venv/bin/python ;;
"-m pip "*) exit "${PIP_EXIT:-0}" ;;
esac
"""


@dataclass
class Checkout:
    """A folder with what the set-up reads, and its stand-in for Python."""

    root: Path
    python: Path
    calls: Path

    def set_up(self, what: str, **settings: str) -> subprocess.CompletedProcess[str]:
        self.calls.write_text("")
        given = {"PYTHON": str(self.python), "PATH": "/usr/bin:/bin", "CALLS": str(self.calls)}
        return subprocess.run(
            ["sh", SETUP, what], cwd=self.root, env=given | settings, capture_output=True, text=True
        )

    @property
    def made(self) -> bool:
        """Whether the last run made an environment."""
        return "-m venv" in self.calls.read_text()

    def list_environments(self) -> list[str]:
        return sorted(path.name for path in self.root.iterdir() if path.name.startswith(".venv"))


@pytest.fixture
def checkout(tmp_path: Path) -> Checkout:
    root = tmp_path / "Übungen für alle"
    for name in (
        SETUP,
        "builder/setup/constraints.txt",
        "pyproject.toml",
        "tests/scripts/package.json",
        "tests/scripts/package-lock.json",
    ):
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, root / name)
    python = tmp_path / "python stand-in"
    python.write_text(STAND_IN)
    python.chmod(0o755)
    return Checkout(root, python, tmp_path / "calls")


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({"PYTHON": "python-nowhere"}, "apt-get install python3 python3-venv"),
        ({"VERSION": "3.9"}, "is Python 3.9, and Python 3.11 or newer is needed"),
        ({"NO_VENV": "1"}, "apt-get install python3.13-venv"),
        (OFFLINE, "is there a connection?"),
    ],
)
def test_what_is_missing_is_said_and_nothing_is_left(
    checkout: Checkout, settings: dict[str, str], said: str
) -> None:
    done = checkout.set_up("site", **settings)
    assert done.returncode == 1
    assert said in done.stderr
    assert checkout.list_environments() == []


def test_what_stands_is_left_as_it_is(checkout: Checkout) -> None:
    assert checkout.set_up("tests").returncode == 0
    assert checkout.made
    for what in ("tests", "site"):
        assert checkout.set_up(what, **OFFLINE).returncode == 0
        assert not checkout.made


def test_the_tests_need_more(checkout: Checkout) -> None:
    checkout.set_up("site")
    assert "[dev]" not in checkout.calls.read_text()
    assert checkout.set_up("tests", **OFFLINE).returncode == 1
    assert checkout.set_up("site", **OFFLINE).returncode == 0, "what stood was kept"
    assert not checkout.made
    assert checkout.set_up("tests").returncode == 0
    assert "[dev]" in checkout.calls.read_text()


@pytest.mark.parametrize("change", [{"VERSION": "3.14"}, {"PREFIX": "/opt/other"}])
def test_an_environment_of_another_python_is_made_anew(
    checkout: Checkout, change: dict[str, str]
) -> None:
    checkout.set_up("site")
    # The environment's own Python would not change with these; the stand-in in it does.
    own = checkout.root / ".venv" / "bin" / "python"
    own.write_text('#!/bin/sh\necho "3.13 /usr"\n')
    assert checkout.set_up("site", **change).returncode == 0
    assert checkout.made
    assert checkout.list_environments() == [".venv"]


def test_other_packages_make_it_anew(checkout: Checkout) -> None:
    checkout.set_up("site")
    with (checkout.root / "builder/setup/constraints.txt").open("a") as file:
        file.write("another==1\n")
    assert checkout.set_up("site").returncode == 0
    assert checkout.made


def test_a_half_made_one_is_made_anew(checkout: Checkout) -> None:
    (checkout.root / ".venv" / "bin").mkdir(parents=True)
    (checkout.root / ".venv" / "left").write_text("over")
    assert checkout.set_up("site").returncode == 0
    assert not (checkout.root / ".venv" / "left").exists()


def test_a_run_that_was_ended_half_way_is_taken_back(checkout: Checkout) -> None:
    checkout.set_up("site")
    (checkout.root / ".venv").rename(checkout.root / ".venv.old")
    (checkout.root / ".venv").mkdir()
    assert checkout.set_up("site", **OFFLINE).returncode == 0
    assert not checkout.made
    assert checkout.list_environments() == [".venv"]


def test_a_moved_folder_works_with_and_without_a_net(checkout: Checkout) -> None:
    checkout.set_up("site")
    checkout.root = checkout.root.rename(checkout.root.with_name("moved away"))
    without = checkout.set_up("site", **OFFLINE)
    assert without.returncode == 0
    assert "The folder was moved" in without.stderr
    assert checkout.set_up("site", **ONLINE).returncode == 0
    assert checkout.made
    assert checkout.set_up("site", **OFFLINE).stderr == ""
