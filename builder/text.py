"""Markdown in text fields: the one configured parser, and the links and quantities in a text.

Raw HTML is off: it is shown as text, never run. Links to entries are written `[words](defect:id)`;
a quantity in braces, `{60 degC}`, is shown in metric and US units by the pages.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import unquote

from markdown_it import MarkdownIt
from markdown_it.token import Token

from builder.model import LINKED_KINDS

WEB_SCHEMES = ("https", "http")
"""Schemes of addresses outside the site that a text may link to."""

BRACES = re.compile(r"\{(?:also )?([^{}\n]{1,60})\}")
"""A quantity in running text, for instance `{113 g}` or `{57 to 63 degC}`.

`{also 15 g}` is shown as `{15 g}` is; it says that the number is not one of those that are checked.
"""

_WORD = re.compile(r"[^\W\d_]{2,}")
_DENSE = ("CJK", "HIRAGANA", "KATAKANA", "THAI", "LAO", "KHMER", "MYANMAR")
_SCHEME = re.compile(r"^([A-Za-z][A-Za-z0-9+.-]*):")
# The commonest text by far: links to entries, and nothing else that Markdown could read otherwise.
_PLAIN_LINK = re.compile(r"(?<![!\\])\[([^\[\]\\`<>&*_|\n]+)\]\(([a-z]+:[a-z0-9-]+)\)")
_NEEDS_PARSER = re.compile(r"[\[\]<`\\\t|]| {4}|~~~")
_MAY_LINK = re.compile(r"\]\s*[(\[:]|<[A-Za-z]|^\s*\[", re.MULTILINE)


def _make_parser() -> MarkdownIt:
    parser = MarkdownIt("commonmark", {"html": False, "linkify": False, "typographer": False})
    return parser.enable("table")


MARKDOWN = _make_parser()
"""The parser for every text field. It leaves `javascript:` and the like unlinked, as plain text."""

_EVERY_LINK = _make_parser()
# The rule about unsafe links must see what the renderer would refuse, so this one refuses nothing.
_EVERY_LINK.validateLink = lambda url: True  # type: ignore[method-assign]


@dataclass(frozen=True, slots=True)
class Link:
    """A link or picture in a text.

    Args:
        target: Where it goes, as the parser reads it: entities and escapes undone.
        words: The words it stands on, or a picture's description.
        is_picture: True for `![...](...)`.
    """

    target: str
    words: str
    is_picture: bool = False

    @property
    def scheme(self) -> str:
        """What stands before the first colon, in lower case, or "" for a relative address."""
        # Browsers drop tabs, line ends and control characters from an address before they read it.
        bare = re.sub(r"[\x00-\x20\x7f]", "", self.target)
        found = _SCHEME.match(bare)
        return found[1].lower() if found else ""

    @property
    def reference(self) -> tuple[str, str] | None:
        """The kind and id of the entry it names, or None where it is no link to an entry.

        Example:
            `Link("defect:haze", "haze").reference` is `("defect", "haze")`.
        """
        kind, colon, name = self.target.partition(":")
        return (kind, name) if colon and kind in LINKED_KINDS else None


def parse_links(text: str) -> list[Link]:
    """List the links and pictures of a Markdown text, in order, unsafe ones included.

    Args:
        text: A text field's Markdown.

    Returns:
        One `Link` each; a text inside code is no link.
    """
    if not _MAY_LINK.search(text):
        return []
    if not _NEEDS_PARSER.search(_PLAIN_LINK.sub("", text)):
        return [Link(found[2], found[1]) for found in _PLAIN_LINK.finditer(text)]
    return list(_walk_links(_EVERY_LINK.parse(text)))


def _walk_links(tokens: list[Token]) -> Iterator[Link]:
    for token in tokens:
        children = token.children or []
        for place, child in enumerate(children):
            if child.type == "link_open":
                words = []
                for after in children[place + 1 :]:
                    if after.type == "link_close":
                        break
                    words.append(after.content)
                yield Link(_unquote(str(child.attrs.get("href", ""))), "".join(words))
            elif child.type == "image":
                yield Link(_unquote(str(child.attrs.get("src", ""))), child.content, True)


def _unquote(target: str) -> str:
    """Undo the percent signs that the parser writes for odd characters."""
    return unquote(target)


def find_stated(text: str) -> list[str]:
    """List what stands in braces and is to be held against what is checked: not `{also 15 g}`."""
    return [found[1] for found in BRACES.finditer(text) if not found[0].startswith("{also ")]


def find_quantities(text: str) -> list[str]:
    """List what stands in braces in a text, without the braces."""
    return BRACES.findall(text)


def read_words(text: str) -> str:
    """Give the words that a reader sees of a Markdown text, its blocks joined by spaces."""
    return " ".join(
        "".join(
            " " if child.type in ("softbreak", "hardbreak") else child.content
            for child in token.children or []
            if child.type in ("text", "code_inline", "softbreak", "hardbreak")
        )
        for token in MARKDOWN.parse(text)
        if token.children
    )


def count_words(text: str) -> int:
    """Count the words that a reader sees of a Markdown text; a word has two letters or more.

    Letters of scripts that write without spaces count as half a word each.
    """
    shown = read_words(text)
    dense = sum(unicodedata.name(each, "").startswith(_DENSE) for each in shown)
    return len(_WORD.findall(shown)) + dense // 2
