"""The shipped course, built once for all tests that look at its pages."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent


@cache
def build_shipped() -> Path:
    """Build the shipped course strictly and give the folder of its site."""
    folder = Path(tempfile.mkdtemp(prefix="benchlore-site-"))
    site = folder / "site"
    # Never with --quiet: it silences the counter that strict relies on.
    built = subprocess.run(
        [sys.executable, "-m", "builder", "build", "--strict", "--out", str(site)],
        cwd=ROOT,
        env={**os.environ, "PYTHONWARNINGS": ""},
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert built.returncode == 0, built.stdout + built.stderr
    return site


def remove_shipped() -> None:
    """Remove what `build_shipped` made, if it made anything."""
    if build_shipped.cache_info().currsize:
        shutil.rmtree(build_shipped().parent, ignore_errors=True)
