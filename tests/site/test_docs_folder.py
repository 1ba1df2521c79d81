"""The same pages as an ordinary docs folder, built by a host that knows nothing of us."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import markdown
import pytest
import yaml

from builder.build import build_course
from builder.pages import write_docs_folder, write_host_settings
from builder.pages.docs_folder import write_markdown
from builder.pages.records import Page, Section
from tests.shipped import ROOT
from tests.site.pages import read_site

pytestmark = pytest.mark.site


def test_a_plain_host_builds_the_written_folder(tmp_path: Path) -> None:
    built = build_course(ROOT)
    assert built.site is not None
    docs = tmp_path / "docs"
    written = write_docs_folder(built.site, docs)
    assert written == len(built.site.pages)
    settings = {
        "site_name": built.site.name,
        "theme": "mkdocs",
        "docs_dir": str(docs),
        "site_dir": str(tmp_path / "site"),
        "plugins": [],
    }
    text = yaml.safe_dump(settings) + write_host_settings(built.site) + "\n"
    (tmp_path / "mkdocs.yml").write_text(text)
    done = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--strict"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    pages = read_site(tmp_path / "site")
    for record in built.site.pages:
        page = pages[record.file]
        missing = {section.id for section in record.sections} - set(page.ids)
        assert missing == set(), record.address
        # Every word of the fragment arrived: nothing was swallowed as Markdown.
        assert record.title in page.text
    # Links between the pages hold in the other host too.
    from tests.site.test_built_site import resolve

    for name, page in pages.items():
        for link in page.links:
            if link.startswith(("http", "mailto", "/")) or name == "404.html":
                continue
            target, _ = resolve(name, link)
            assert (tmp_path / "site" / target).is_file(), f"{name}: {link}"


def test_a_title_acts_in_no_host() -> None:
    title = 'Scent <img src=x onerror=alert(1)> { onclick=alert(1) } "rustic" *x*'
    page = Page("lessons/a/", title, title, "<h1>A</h1>", (Section("one", title, "<p>B</p>"),))
    text = write_markdown(page)
    assert "<img" not in text
    html = markdown.markdown(text.split("---")[2], extensions=["attr_list", "md_in_html"])
    assert re.findall(r"<h2[^>]*>", html) == ['<h2 id="one">']
    assert "<em>" not in html
    assert "<img" not in html
