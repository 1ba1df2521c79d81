"""Starts the system's Chromium for tests; Playwright's own download is not needed."""

from __future__ import annotations

import shutil

from playwright.sync_api import Browser, Error, Playwright, sync_playwright

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


def main() -> None:
    """End with 1 and the browser's own words where no page can be shown, or none with letters."""
    try:
        with sync_playwright() as playwright:
            browser = launch_chromium(playwright)
            page = browser.new_page()
            page.set_content("<span>Letters</span>")
            width = page.evaluate("document.querySelector('span').getBoundingClientRect().width")
            browser.close()
    except (Error, OSError) as error:
        raise SystemExit(str(error)) from error
    if not width:
        raise SystemExit("Chromium starts, but it has no letters to draw with.")


if __name__ == "__main__":
    main()
