"""Starts the system's Chromium for tests; Playwright's own download is not needed."""

from __future__ import annotations

import shutil

from playwright.sync_api import Browser, Playwright

PROGRAMS = ("chromium", "chromium-browser", "google-chrome")
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--no-first-run",
    "--disable-sync",
)


def launch_chromium(playwright: Playwright) -> Browser:
    """Launch headless Chromium, which the system's package manager installs.

    Raises:
        FileNotFoundError: If none is on the path.
    """
    program = next(filter(None, map(shutil.which, PROGRAMS)), None)
    if program is None:
        raise FileNotFoundError("No Chromium found; install it with your package manager.")
    return playwright.chromium.launch(executable_path=program, args=list(ARGUMENTS))
