"""One Chromium and one built site for all tests that look at pages."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    Request,
    sync_playwright,
)

from tests.chromium import launch_chromium
from tests.shipped import build_shipped

OpenPage = Callable[..., Page]


@pytest.fixture(scope="session")
def shipped_site() -> Path:
    """Folder of the shipped course's site, built once."""
    return build_shipped()


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    """One browser for all tests of this folder."""
    with sync_playwright() as playwright:
        browser = launch_chromium(playwright)
        yield browser
        browser.close()


def watch(page: Page, allowed: str = "file:") -> list[str]:
    """Note what goes wrong on a page: errors of scripts and of the console, foreign requests.

    Args:
        page: A page that has not been to any address yet.
        allowed: What the address of every request has to begin with.

    Returns:
        A list that grows as things go wrong.
    """
    noted: list[str] = []

    def note_message(message: ConsoleMessage) -> None:
        if message.type == "error":
            noted.append(f"{page.url}: console: {message.text}")

    def note_request(request: Request) -> None:
        if not request.url.startswith((allowed, "data:", "blob:")):
            noted.append(f"{page.url}: asks for {request.url}")

    page.on("console", note_message)
    page.on("pageerror", lambda error: noted.append(f"{page.url}: script: {error}"))
    page.on("request", note_request)
    return noted


@pytest.fixture
def open_page(chromium: Browser) -> Iterator[OpenPage]:
    """Open pages in contexts of their own; at the end none may have gone wrong.

    Keywords: `width` and `height` in pixels, `dark`, `script`, `allowed` (see `watch`).
    """
    contexts: list[BrowserContext] = []
    noted: list[list[str]] = []

    def open_one(
        *,
        width: int = 1280,
        height: int = 900,
        dark: bool = False,
        script: bool = True,
        allowed: str = "file:",
    ) -> Page:
        context = chromium.new_context(
            viewport={"width": width, "height": height},
            color_scheme="dark" if dark else "light",
            java_script_enabled=script,
            reduced_motion="reduce",
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(10_000)
        noted.append(watch(page, allowed))
        return page

    yield open_one
    for context in contexts:
        context.close()
    assert [each for one in noted for each in one] == []
