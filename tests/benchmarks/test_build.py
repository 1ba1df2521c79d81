"""How long a build takes against the same host rendering the very same pages from Markdown files.

Whole processes, in alternating pairs in one run, so that the machine's speed cancels out.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml

from builder.build import build_course
from builder.pages import write_docs_folder
from tests.shipped import ROOT

PAIRS = 5
MOST = 1.15
"""Ours over plain, at the most."""

pytestmark = pytest.mark.benchmark


def measure(*words: str, cwd: Path) -> float:
    """Give the processor seconds that a command took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(
        [sys.executable, "-m", *words],
        cwd=cwd,
        # As on anyone's machine: modules keep their bytecode, ours as the installed ones do.
        env={
            **os.environ,
            "PYTHONWARNINGS": "",
            "PYTHONDONTWRITEBYTECODE": "",
            "NO_MKDOCS_2_WARNING": "1",
        },
        capture_output=True,
        text=True,
        timeout=600,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def alternate(ours: Callable[[], float], plain: Callable[[], float]) -> list[tuple[float, float]]:
    ours()
    plain()
    return [(ours(), plain()) for _ in range(PAIRS)]


def write_plain_project(folder: Path) -> int:
    """Write the shipped site as Markdown files, with the same theme, search and navigation."""
    built = build_course(ROOT)
    assert built.site is not None
    write_docs_folder(built.site, folder / "docs")
    settings = yaml.safe_load((ROOT / "mkdocs.yml").read_text())
    for name in ("watch", "exclude_docs", "site_dir"):
        settings.pop(name, None)
    settings["docs_dir"] = "docs"
    settings["plugins"] = [one for one in settings["plugins"] if one != "benchlore"]
    shims = [asset.file for asset in built.site.assets if "iframe-worker" in asset.file]
    settings["extra"] = {"polyfills": shims}
    settings["markdown_extensions"] = ["attr_list"]
    settings["extra_css"] = list(built.site.styles)
    settings["extra_javascript"] = list(built.site.scripts)
    settings["nav"] = [{item.title: f"{item.address}index.md"} for item in built.site.nav]
    (folder / "mkdocs.yml").write_text(yaml.safe_dump(settings))
    return len(built.site.pages)


def test_build_against_the_plain_host(tmp_path: Path) -> None:
    pages = write_plain_project(tmp_path)
    out = str(tmp_path / "ours")
    pairs = alternate(
        lambda: measure("builder", "build", "--out", out, cwd=ROOT),
        lambda: measure("mkdocs", "build", "-d", str(tmp_path / "plain"), cwd=tmp_path),
    )
    ratio = statistics.median(ours / plain for ours, plain in pairs)
    print(
        f"\nbuild of {pages} pages, cpu seconds, median of {PAIRS} pairs: "
        f"ours {statistics.median(a for a, _ in pairs):.2f} (reading and checking the course "
        f"included), plain {statistics.median(b for _, b in pairs):.2f}, ratio {ratio:.2f}"
    )
    assert ratio <= MOST
