"""Markdown as plain nodes that the paper templates set: no markup language is ever put together.

A block is a text or a list `[kind, ...]`: `["ul", items]`, `["ol", items]`, `["table", rows]`,
`["p", runs]`; a run is a text or `["b", runs]`, `["i", runs]`, `["code", text]`, `["br"]`. Since
all of it travels as data, nothing an author or a student writes can act as markup. Links keep their
words only; a quantity in braces is written in both unit systems.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from markdown_it.token import Token

from builder.quantities import write_braces
from builder.text import BRACES, MARKDOWN

Node = Any
_PLAIN = re.compile(r"[\w\s.,;:?!()%°·×−–’“”/+=\u00a0\u202f$€£\"'-]+")
_STARTS = re.compile(r"\s*(?:[-+]\s|\d+[.)]\s|=+\s*$|-+\s*$)", re.MULTILINE)


@lru_cache(maxsize=8192)
def set_text(text: str) -> tuple[Node, ...]:
    """Turn a Markdown text into blocks.

    Args:
        text: Markdown, as in the entries.
    """
    if _PLAIN.fullmatch(text) and "\n" not in text and not _STARTS.match(text):
        return (text,)
    blocks, _ = _read_blocks(MARKDOWN.parse(text, {}), 0)
    return tuple(blocks)


def set_line(text: str) -> Node:
    """Turn a Markdown text into runs, its blocks joined."""
    runs: list[Node] = []
    for block in set_text(text):
        if runs:
            runs.append(" ")
        if isinstance(block, str):
            runs.append(block)
        elif block[0] == "p":
            runs.extend(block[1])
        else:
            runs.append(to_plain(block))
    return runs[0] if len(runs) == 1 and isinstance(runs[0], str) else ["p", runs]


def to_plain(node: Node) -> str:
    """Give the words of a node, or of several."""
    if isinstance(node, str):
        return node
    if isinstance(node, tuple):
        return " ".join(to_plain(part) for part in node)
    kind, *rest = node
    if kind == "br":
        return " "
    if kind == "code":
        return str(rest[0])
    if kind in ("ul", "ol"):
        return "; ".join(" ".join(to_plain(part) for part in item) for item in rest[0])
    if kind == "table":
        return "; ".join(", ".join(to_plain(cell) for cell in row) for row in rest[0])
    return "".join(to_plain(run) for run in rest[0])


def write_plain(text: str) -> str:
    """Give a Markdown text as plain words."""
    # Spaces that do not break stay as they are.
    return re.sub(r"[ \t\r\n]+", " ", to_plain(set_text(text))).strip()


def _read_blocks(tokens: list[Token], start: int, end: str = "") -> tuple[list[Node], int]:
    blocks: list[Node] = []
    place = start
    while place < len(tokens):
        token = tokens[place]
        if token.type == end:
            return blocks, place
        if token.type == "inline":
            runs = _read_runs(token.children or [], 0, "")[0]
            blocks.append(runs[0] if len(runs) == 1 and isinstance(runs[0], str) else ["p", runs])
        elif token.type in ("bullet_list_open", "ordered_list_open"):
            kind = "ul" if token.type.startswith("bullet") else "ol"
            items, place = _read_items(tokens, place + 1, token.type.replace("open", "close"))
            blocks.append([kind, items])
        elif token.type == "table_open":
            rows, place = _read_table(tokens, place + 1)
            blocks.append(["table", rows])
        elif token.type in ("fence", "code_block"):
            blocks.append(["p", [["code", token.content.rstrip()]]])
        place += 1
    return blocks, place


def _read_items(tokens: list[Token], start: int, end: str) -> tuple[list[Node], int]:
    items: list[Node] = []
    place = start
    while tokens[place].type != end:
        blocks, place = _read_blocks(tokens, place + 1, "list_item_close")
        items.append(blocks)
        place += 1
    return items, place


def _read_table(tokens: list[Token], start: int) -> tuple[list[Node], int]:
    rows: list[Node] = []
    place = start
    while tokens[place].type != "table_close":
        token = tokens[place]
        if token.type == "tr_open":
            rows.append([])
        elif token.type == "inline":
            rows[-1].append(["p", _read_runs(token.children or [], 0, "")[0]])
        place += 1
    return rows, place


def _read_runs(tokens: list[Token], start: int, end: str) -> tuple[list[Node], int]:
    runs: list[Node] = []

    def add(text: str) -> None:
        if runs and isinstance(runs[-1], str):
            runs[-1] += text
        elif text:
            runs.append(text)

    place = start
    while place < len(tokens):
        token = tokens[place]
        if token.type == end:
            break
        if token.type == "text":
            add(BRACES.sub(lambda found: write_braces(found[1]), token.content))
        elif token.type in ("strong_open", "em_open"):
            inner, place = _read_runs(tokens, place + 1, token.type.replace("open", "close"))
            runs.append(["b" if token.type == "strong_open" else "i", inner])
        elif token.type == "softbreak":
            add(" ")
        elif token.type == "hardbreak":
            runs.append(["br"])
        elif token.type == "code_inline":
            runs.append(["code", token.content])
        elif token.type == "image":
            add(token.content)
        place += 1
    return runs, place
