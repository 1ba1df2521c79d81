"""The only module that knows MkDocs: hands our pages to it as virtual files.

As a plugin (`plugins: [benchlore]`) it works under `mkdocs build` and `mkdocs serve`. The content
is checked before MkDocs touches its output folder, and a build is made beside that folder and put
in its place at the end, so errors, a full disk or a kill leave the site that stood.
"""

from __future__ import annotations

import json
import logging
import re
from collections.abc import Iterator
from html import escape
from pathlib import Path
from typing import Any, Literal

from markupsafe import Markup
from mkdocs.commands import build as host_build
from mkdocs.commands import serve as host_serve
from mkdocs.config import load_config
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, ConfigurationError
from mkdocs.livereload import LiveReloadServer
from mkdocs.plugins import BasePlugin, CombinedEvent, event_priority
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.pages import Page as HostPage
from mkdocs.structure.toc import AnchorLink, TableOfContents
from mkdocs.utils import CountHandler

from builder.build import Built, build_course, pause_collector
from builder.diagnostics import Diagnostic, render_text
from builder.library_warnings import pass_over_library_warnings
from builder.output import OutputError, begin_folder, discard_folder, finish_folder
from builder.pages import Page, Site, make_search_entries
from builder.policy import add_script, find_scripts, put_policy

LOG = logging.getLogger("mkdocs.plugins.benchlore")
TEMPLATES = Path(__file__).parent / "templates" / "host"
COURSE_FOLDERS = ("lessons", "kb")
START = "page-start"


class RecordPage(HostPage):
    """A page of the host whose content is a finished fragment; nothing is converted."""

    def __init__(self, record: Page, file: File, config: MkDocsConfig, tab: str | None) -> None:
        # The host's templates escape nothing, so that they get texts only as HTML.
        super().__init__(Markup.escape(tab or record.title), file, config)
        self.record = record
        self.banner = ""

    def read_source(self, config: MkDocsConfig) -> None:
        """Take title and description from the record; there is no source text."""
        hide = ["navigation"]
        if len(self.record.sections) < 2 or self.record.kind == "home":
            hide.append("toc")
        self.markdown = ""
        self.meta = {
            "title": Markup.escape(self.record.title),
            "description": Markup.escape(self.record.description),
            "hide": hide,
            "benchlore_kind": self.record.kind,
        }
        # Search entries come from the record too; the host would parse the finished page again.
        self.meta["search"] = {"exclude": True}

    def render(self, config: MkDocsConfig, files: Files) -> None:
        """Set content, table of contents and anchors from the record."""
        record = self.record
        self.content = f'<div id="{START}">{self.banner}{record.html}</div>'
        # The host's skip link goes to the first entry, and it lists what stands below a top one.
        top = AnchorLink(Markup.escape(record.title), START, level=1)
        top.children = [
            AnchorLink(Markup.escape(part.title), part.id, level=2) for part in record.sections
        ]
        self.toc = TableOfContents([top])
        sections = {part.id for part in record.sections}
        self.present_anchor_ids = {START} | sections | set(record.anchors)


class Settings(Config):  # type: ignore[no-untyped-call]
    """The plugin takes no settings: what it needs stands in the course."""


class BenchlorePlugin(BasePlugin[Settings]):  # type: ignore[no-untyped-call]
    """Checks the course, then gives MkDocs its pages."""

    def __init__(self) -> None:
        self.command: str = "build"
        self.built: Built | None = None
        self.preset: Built | None = None
        self.last_site: Site | None = None
        self.staged: Path | None = None
        self.target: Path | None = None
        self.counter: CountHandler | None = None
        self.inline_scripts: tuple[re.Pattern[str], ...] = ()

    def on_startup(self, *, command: Literal["build", "gh-deploy", "serve"], dirty: bool) -> None:
        """Remember what is being done; being defined, it also keeps this object over rebuilds."""
        self.command = command

    @event_priority(100)  # before the theme's own plugins look at the settings
    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Check the course and set what the pages need from the host."""
        self.built = self._build(Path(config.config_file_path).parent)
        site = self.built.site or self.last_site
        if self.built.site is None:
            self._report(self.built.checked.findings)
            if self.command != "serve":
                raise Abort("The course has errors; the site that stood is untouched.")
        elif self.built.checked.findings:
            self._report(self.built.checked.findings)
        self.last_site = site
        _set_up_host(config, site)
        self.inline_scripts = find_scripts(_read_theme_scripts(config.theme.dirs))
        if self.command != "serve":
            self._stage(config)
        return config

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Add our pages and assets as virtual files."""
        site = self.last_site
        banner = ""
        if self.built is not None and self.built.site is None:
            banner = _render_banner(self.built.checked.findings)
        if site is None:
            site = Site("", "", "en", (Page("", "Findings", "", "<h1>Findings</h1>"),), (), ())
        _remove_strays(files, Path(config.docs_dir))
        tabs = {item.address: item.title for item in site.nav}
        for record in site.pages:
            # Placed in the navigation by us alone, so that it does not grow with the course.
            inclusion = InclusionLevel.INCLUDED
            if record.address not in tabs:
                inclusion = InclusionLevel.NOT_IN_NAV
            file = File.generated(config, record.source, content="", inclusion=inclusion)
            page = RecordPage(record, file, config, tabs.get(record.address))
            page.banner = banner
            file.page = page
            _replace(files, file)
        for asset in site.assets:
            _replace(files, File.generated(config, asset.file, content=asset.data))
        return files

    @event_priority(-200)  # after every plugin that still changes the page
    def on_post_page(self, output: str, *, page: HostPage, config: MkDocsConfig) -> str:
        """Say on each page what a browser may run and load there."""
        return put_policy(output, self.inline_scripts)

    @event_priority(-200)
    def on_post_template(self, output: str, *, template_name: str, config: MkDocsConfig) -> str:
        """Say the same on the pages that the host makes by itself, such as the one for errors."""
        return put_policy(output, self.inline_scripts)

    def on_serve(
        self, server: LiveReloadServer, *, config: MkDocsConfig, builder: Any
    ) -> LiveReloadServer:
        """List the script by which the host reloads a page that is being written."""
        inject: Any = server._inject_js_into_html  # the host has no other place to learn of it

        def inject_and_list(content: bytes, epoch: Any) -> bytes:
            html = inject(content, epoch).decode()
            script = html.rpartition("</script>")[0].rpartition("<script>")[2]
            return add_script(html, script).encode()

        server._inject_js_into_html = inject_and_list  # type: ignore[method-assign]
        return server

    @event_priority(-50)  # after the search plugin wrote its index, before it is copied
    def _add_search_entries(self, *, config: MkDocsConfig) -> None:
        """Add what search should find to the host's index."""
        path = Path(config.site_dir) / "search" / "search_index.json"
        if self.last_site is None or not path.is_file():
            return
        index = json.loads(path.read_text(encoding="utf-8"))
        for page in self.last_site.pages:
            for entry in make_search_entries(page):
                location = entry.location
                if config.use_directory_urls:
                    location = location.replace("index.html", "", 1)
                index["docs"].append(
                    {
                        "location": location,
                        "title": escape(entry.title),
                        "text": escape(entry.text),
                    }
                )
        body = json.dumps(index, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
        path.write_text(body, encoding="utf-8")

    @event_priority(-200)  # after every plugin that still writes into the folder
    def _put_in_place(self, *, config: MkDocsConfig) -> None:
        """Put the finished site in its place."""
        if self.staged is None or self.target is None:
            return
        config.site_dir = str(self.target)
        warned = bool(self.counter and self.counter.get_counts())
        if config.strict and warned:
            return  # MkDocs is about to give up; on_shutdown clears the folder away
        pages = len(self.last_site.pages) if self.last_site else 0
        try:
            finish_folder(self.staged, self.target, {"pages": pages})
        except OSError as error:
            raise Abort(f"The site could not be put in place: {error}") from error
        self.staged = None

    on_post_build = CombinedEvent(_add_search_entries, _put_in_place)

    def on_build_error(self, *, error: Exception) -> None:
        """Clear away what was begun."""
        self._discard()

    def on_shutdown(self) -> None:
        """Clear away what was begun."""
        self._discard()

    def _build(self, root: Path) -> Built:
        if self.preset is not None:
            built, self.preset = self.preset, None
            return built
        with pass_over_library_warnings():  # `mkdocs build --strict` would count them
            return build_course(root)

    def _report(self, findings: tuple[Diagnostic, ...]) -> None:
        for line in render_text(findings).splitlines():
            LOG.info(line)

    def _stage(self, config: MkDocsConfig) -> None:
        self.target = Path(config.site_dir)
        try:
            self.staged = begin_folder(self.target)
        except OutputError as error:
            raise Abort(str(error)) from error
        config.site_dir = str(self.staged)
        if config.strict:
            self.counter = CountHandler()
            self.counter.setLevel(logging.WARNING)
            logging.getLogger("mkdocs").addHandler(self.counter)

    def _discard(self) -> None:
        if self.staged is not None:
            discard_folder(self.staged)
            self.staged = None
        if self.counter is not None:
            logging.getLogger("mkdocs").removeHandler(self.counter)
            self.counter = None


def _set_up_host(config: MkDocsConfig, site: Site | None) -> None:
    """Set styles, scripts, navigation and the theme's templates."""
    config.theme.dirs.insert(0, str(TEMPLATES)) if str(TEMPLATES) not in config.theme.dirs else None
    config.theme["font"] = False  # fonts would come from another host
    config.site_name = Markup.escape(config.site_name)
    shims = [name for name in (site.assets if site else ()) if "iframe-worker" in name.file]
    polyfills = config.extra.setdefault("polyfills", [])
    polyfills.extend(shim.file for shim in shims if shim.file not in polyfills)
    if site is None:
        return
    config.site_description = Markup.escape(config.site_description or site.description)
    config.extra_css = [*config.extra_css, *(s for s in site.styles if s not in config.extra_css)]
    known = {str(script) for script in config.extra_javascript}
    config.extra_javascript.extend(name for name in site.scripts if name not in known)
    if site.logo and not config.theme.get("logo"):
        config.theme["logo"] = site.logo
    if site.favicon:
        config.theme["favicon"] = site.favicon
    config.theme["language"] = _find_language(config.theme.dirs, site.language)
    if config.nav is None:
        config.nav = [{item.title: f"{item.address}index.md"} for item in site.nav]


def _read_theme_scripts(folders: list[str]) -> Iterator[str]:
    """Give the theme's own templates that hold inline scripts."""
    for folder in folders:
        for path in sorted((Path(folder) / "partials" / "javascripts").glob("*.html")):
            yield path.read_text(encoding="utf-8")


def _find_language(folders: list[str], language: str) -> str:
    """Give the code under which the theme has words for a language: `en` serves for `en-GB`."""
    for code in (language, language.partition("-")[0]):
        if any(
            (Path(each) / "partials" / "languages" / f"{code}.html").is_file() for each in folders
        ):
            return code
    return "en"


def _remove_strays(files: Files, folder: Path) -> None:
    """Leave out what stands among the lessons and is no entry: nobody has checked it."""
    for file in [each for each in files if each.src_dir and Path(each.src_dir) == folder]:
        files.remove(file)


def _replace(files: Files, file: File) -> None:
    """Put a file in, in place of one of the same name."""
    old = files.get_file_from_path(file.src_uri)
    if old is not None:
        files.remove(old)
    files.append(file)


def _render_banner(findings: tuple[Diagnostic, ...]) -> str:
    items = "".join(f"<pre>{escape(render_text([found]))}</pre>" for found in findings)
    return (
        '<aside class="bl-findings" role="alert"><p><strong>This page shows the last good '
        f"content. The course has findings to mend:</strong></p>{items}</aside>"
    )


def load_host_config(root: Path, **settings: Any) -> MkDocsConfig:
    """Load the course's `mkdocs.yml`.

    Raises:
        OutputError: If it is missing or cannot be used; the text says why.
    """
    path = root / "mkdocs.yml"
    if not path.is_file():
        raise OutputError(f"{path} is missing; start one with: benchlore new course NAME")
    try:
        return load_config(str(path), **settings)
    except (ConfigurationError, Abort) as error:
        raise OutputError(f"{path} cannot be used: {error}") from error


def build_with_host(root: Path, out: Path | None, built: Built, *, strict: bool = False) -> Path:
    """Make the site of a built course through MkDocs.

    Args:
        root: The course folder.
        out: Where the site goes; None takes the place named in `mkdocs.yml`.
        built: A course without errors.
        strict: Let the host's warnings stop the build.

    Returns:
        The folder of the site.

    Raises:
        OutputError: If the settings or the output folder cannot be used.
    """
    settings: dict[str, Any] = {"strict": strict}
    if out is not None:
        settings["site_dir"] = str(out.resolve())
    config = load_host_config(root, **settings)
    plugin = next(
        (part for part in config.plugins.values() if isinstance(part, BenchlorePlugin)), None
    )
    if plugin is None:
        raise OutputError(f"{root / 'mkdocs.yml'} must list benchlore among its plugins")
    plugin.preset = built
    config.plugins.on_startup(command="build", dirty=False)
    try:
        with pause_collector():
            host_build.build(config)
    except Abort as error:
        raise OutputError(str(error)) from error
    except OSError as error:
        raise OutputError(f"the site could not be written: {error}") from error
    finally:
        config.plugins.on_shutdown()
    return Path(config.site_dir)


def serve_with_host(root: Path, address: str | None) -> None:
    """Serve the site live through MkDocs until stopped.

    Raises:
        OutputError: If the settings cannot be used.
    """
    load_host_config(root)
    watched = [str(root / name) for name in COURSE_FOLDERS if (root / name).is_dir()]
    settings: dict[str, Any] = {"dev_addr": address} if address else {}
    host_serve.serve(str(root / "mkdocs.yml"), livereload=True, watch=watched, **settings)
