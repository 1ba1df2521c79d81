"""The only module that knows MkDocs: hands our pages to it as virtual files.

As a plugin (`plugins: [benchlore]`) it works under `mkdocs build` and `mkdocs serve`. The content
is checked before MkDocs touches its output folder, and a build is made beside that folder and put
in its place at the end, so errors, a full disk or a kill leave the site that stood.
"""

from __future__ import annotations

import logging
from html import escape
from pathlib import Path
from typing import Any, Literal

from jinja2 import Environment
from markupsafe import Markup
from mkdocs.commands import build as host_build
from mkdocs.commands import serve as host_serve
from mkdocs.config import load_config
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, ConfigurationError
from mkdocs.livereload import LiveReloadServer
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page as HostPage
from mkdocs.structure.toc import TableOfContents
from mkdocs.utils import CountHandler
from mkdocs.utils.templates import TemplateContext

from builder.build import Built, build_course, pause_collector
from builder.diagnostics import Diagnostic, point_to_rules, render_text
from builder.library_warnings import pass_over_library_warnings
from builder.output import (
    COURSE_FOLDERS,
    OutputError,
    begin_folder,
    check_output_folder,
    check_place,
    discard_folder,
    finish_folder,
)
from builder.pages import Page, Site
from builder.policy import add_script, put_policy
from builder.words import load_words

LOG = logging.getLogger("mkdocs.plugins.benchlore")
TEMPLATES = Path(__file__).parent / "templates" / "host"
EMPTY = Site("", "", "en", (Page("", "Findings", "", "<h1>Findings</h1>"),), (), ())
"""What is served while a course has never been without errors."""


class RecordPage(HostPage):
    """A page of the host whose content is a finished fragment; nothing is converted."""

    def __init__(self, record: Page, file: File, config: MkDocsConfig, tab: str | None) -> None:
        # The host's templates escape nothing, so that they get texts only as HTML.
        super().__init__(Markup.escape(tab or record.title), file, config)
        self.record = record
        self.banner = ""

    def read_source(self, config: MkDocsConfig) -> None:
        """Take title and description from the record; there is no source text."""
        self.markdown = ""
        self.meta = {
            "title": Markup.escape(self.record.title),
            "description": Markup.escape(self.record.description),
            "benchlore_kind": self.record.kind,
        }
        # The host's search, where a course lists it, would parse the finished page again.
        self.meta["search"] = {"exclude": True}

    def render(self, config: MkDocsConfig, files: Files) -> None:
        """Set content and anchors from the record."""
        record = self.record
        self.content = f"{self.banner}{record.html}"
        self.toc = TableOfContents([])
        self.present_anchor_ids = {part.id for part in record.sections} | set(record.anchors)


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
        self.authored: dict[str, list[str]] = {"styles": [], "scripts": []}

    def on_startup(self, *, command: Literal["build", "gh-deploy", "serve"], dirty: bool) -> None:
        """Remember what is being done; being defined, it also keeps this object over rebuilds."""
        self.command = command

    @event_priority(100)  # before the theme's own plugins look at the settings
    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Check the course and set what the pages need from the host."""
        root = Path(config.config_file_path).parent
        if self.command != "serve":
            _refuse_folder(root, Path(config.site_dir))
        self.built = self._build(root)
        site = self.built.site or self.last_site
        if self.built.site is None:
            self._report(self.built.checked.findings)
            if self.command != "serve":
                raise Abort("The course has errors; the site that stood is untouched.")
        elif self.built.checked.findings:
            self._report(self.built.checked.findings)
        self.last_site = site
        # What the author lists; what other plugins would add to it belongs to a frame not ours.
        self.authored = {
            "styles": list(config.extra_css),
            "scripts": [str(script) for script in config.extra_javascript],
        }
        _set_up_host(config, site)
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
            site = EMPTY
        _remove_strays(files)
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

    def on_env(self, env: Environment, *, config: MkDocsConfig, files: Files) -> Environment:
        """Give our frame what it shows besides the page: words, the site, its settings."""
        site = self.last_site or EMPTY
        env.globals.update(
            t=load_words(site.language).html, site=site, authored=self.authored, place=site.place
        )
        return env

    def on_page_context(
        self, context: TemplateContext, *, page: HostPage, config: MkDocsConfig, nav: Navigation
    ) -> TemplateContext:
        """Give our frame the record of the page, and the part of the site it belongs to."""
        if isinstance(page, RecordPage):
            parts = self.last_site.nav if self.last_site else ()
            address = page.record.address
            here = next((part for part in parts if part.holds(address)), None)
            more: dict[str, Any] = {"record": page.record, "here": here}
            context.update(more)  # type: ignore[typeddict-item]
        return context

    @event_priority(-200)  # after every plugin that still changes the page
    def on_post_page(self, output: str, *, page: HostPage, config: MkDocsConfig) -> str:
        """Say on each page what a browser may run and load there."""
        return put_policy(output)

    @event_priority(-200)
    def on_post_template(self, output: str, *, template_name: str, config: MkDocsConfig) -> str:
        """Say the same on the pages that the host makes by itself, such as the one for errors."""
        return put_policy(output)

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

    @event_priority(-200)  # after every plugin that still writes into the folder
    def on_post_build(self, *, config: MkDocsConfig) -> None:
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
        for line in [*render_text(findings).splitlines(), point_to_rules(findings)]:
            if line:
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
    """Set what the host needs to write our pages in our own frame, whatever its theme is."""
    if str(TEMPLATES) not in config.theme.dirs:
        config.theme.dirs.insert(0, str(TEMPLATES))
    config.use_directory_urls = False  # links must work from a folder without a server
    config.site_name = Markup.escape(config.site_name)
    if site is None:
        return
    config.site_description = Markup.escape(config.site_description or site.description)
    if config.nav is None:
        config.nav = [{item.title: f"{item.address}index.md"} for item in site.nav]


def _remove_strays(files: Files) -> None:
    """Leave out what we have not made: files of the theme, and what stands among the lessons.

    Nobody has checked what stands there, and our frame needs nothing of the theme.
    """
    for file in [each for each in files if each.src_dir is not None]:
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
        f"content. The course has findings to mend:</strong></p>{items}"
        f"<p>{escape(point_to_rules(findings))}</p></aside>"
    )


def _refuse_folder(root: Path, folder: Path) -> None:
    """Give up before any work where the site must not go."""
    try:
        check_place(root, folder)
        check_output_folder(folder)
    except OutputError as error:
        raise Abort(str(error)) from error


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
