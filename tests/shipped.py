"""The shipped course, built once for all tests that look at its pages."""

from __future__ import annotations

import atexit
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
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
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
