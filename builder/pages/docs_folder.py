"""The same pages as an ordinary folder of Markdown files, for any host that takes one."""

from __future__ import annotations

import json
import re
from pathlib import Path

from builder.output import begin_folder, discard_folder, finish_folder
from builder.pages.records import Page, Site

_INERT = str.maketrans({"<": "‹", ">": "›", '"': "”"})
_ACTING = re.compile(r"[\\`*_\[\]<>#|&~{}]")


def write_docs_folder(site: Site, folder: Path) -> int:
    """Write a site as Markdown files with their HTML inside, and its assets beside them.

    Headings stay Markdown headings (with their ids), so that the host makes its own contents list.

    Args:
        site: The pages and files.
        folder: Where; a folder that holds other things is refused.

    Returns:
        The number of pages written.

    Raises:
        OutputError: If the folder may not be replaced.
        OSError: If it cannot be written; what stood there before still stands.
    """
    staged = begin_folder(folder)
    try:
        for page in site.pages:
            path = staged / page.source
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(write_markdown(page), encoding="utf-8")
        for asset in site.assets:
            path = staged / asset.file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(asset.data)
        finish_folder(staged, folder, {"pages": len(site.pages)})
    except BaseException:
        discard_folder(staged)
        raise
    return len(site.pages)


def write_host_settings(site: Site) -> str:
    """Give the settings that a host needs for such a folder, as lines of `mkdocs.yml`."""
    lists = {
        "markdown_extensions": ["attr_list"],
        "extra_css": site.styles,
        "extra_javascript": site.scripts,
    }
    # Links name files, so that they hold from a folder.
    lines = ["use_directory_urls: false"]
    for key, values in lists.items():
        lines += [f"{key}:", *(f"  - {value}" for value in values)] if values else []
    return "\n".join(lines)


def write_markdown(page: Page) -> str:
    """Give a page as Markdown with raw HTML: front matter, lead, and each section's heading."""
    front = [
        f"title: {json.dumps(_defuse(page.title), ensure_ascii=False)}",
        f"description: {json.dumps(_defuse(page.description), ensure_ascii=False)}",
    ]
    parts = ["---", *front, "---", "", _as_block(f"bl bl-{page.kind}", page.lead)]
    for section in page.sections:
        parts += ["", f"## {_write_heading(section.title)} {{ #{section.id} }}", ""]
        parts.append(_as_block("bl bl-section", section.html))
    if page.structured:
        parts += ["", page.structured_html]
    return "\n".join(parts) + "\n"


def _defuse(text: str) -> str:
    """Take the signs of HTML out of a text whose host may put it into a page as it stands."""
    return text.translate(_INERT)


def _write_heading(text: str) -> str:
    """Write a plain text as a heading in which neither Markdown nor HTML nor attributes act."""
    return _ACTING.sub(lambda found: f"&#{ord(found[0])};", text)


def _as_block(classes: str, html: str) -> str:
    """Wrap HTML so that a Markdown reader takes it as one block: no empty line may stand in it."""
    body = "\n".join(line for line in html.splitlines() if line.strip())
    return f'<div class="{classes}">\n{body}\n</div>'
