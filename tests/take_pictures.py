"""Takes the pictures of the README from the built site: `make pictures`."""

from __future__ import annotations

import sys
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

sys.path.insert(0, str(Path(__file__).parent.parent))

from tests.chromium import launch_chromium
from tests.shipped import build_shipped

PICTURES = Path(__file__).parent / "pictures"
VIEWS = (
    # name, page, width, height, scheme, what to bring into view
    ("home", "index.html", 1200, 760, "light", None),
    ("lesson", "lessons/swirl-pour/index.html", 1200, 900, "light", "#step-4"),
    ("defect", "defects/sweating/index.html", 1200, 900, "light", None),
    ("graph", "defects/sweating/index.html", 1200, 760, "light", "#graph, #whole-picture"),
    ("calculator", "calculators/cooling-window/index.html", 1200, 900, "light", None),
    ("class", "teaching/millrace-autumn/index.html", 1200, 900, "light", "#sessions"),
    ("diagnose-phone", "diagnose/index.html", 390, 780, "light", None),
    ("lesson-phone-dark", "lessons/scent/index.html", 390, 780, "dark", None),
    ("bench-phone", "lessons/swirl-pour/index.html#bench-5", 390, 780, "light", None),
)


def take(browser: Browser, site: Path) -> None:
    """Take each picture; small JPEGs, so that the repository stays light."""
    for name, page_file, width, height, scheme, show in VIEWS:
        page = browser.new_page(
            viewport={"width": width, "height": height},
            color_scheme="dark" if scheme == "dark" else "light",
        )
        path, mark, place = page_file.partition("#")
        page.goto((site / path).as_uri() + mark + place)
        page.wait_for_load_state("networkidle")
        page.evaluate("document.querySelector('.bl-run')?.setAttribute('open', '')")
        if show:
            page.locator(show).first.evaluate(
                "element => element.scrollIntoView({behavior: 'instant'})"
            )
        page.screenshot(path=str(PICTURES / f"{name}.jpg"), type="jpeg", quality=62)
        page.close()


def main() -> None:
    """Build the shipped site and take all pictures."""
    PICTURES.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = launch_chromium(playwright)
        take(browser, build_shipped())
        browser.close()


if __name__ == "__main__":
    main()
