"""Paper through Typst: one of our templates and data in, a tagged PDF out.

Only the fonts that travel with the Typst package are used, so that sheets come out the same on
every machine, with one exception: letters these fonts lack are taken from the system's fonts. What
no font has at all is reported, never printed as an empty box in silence.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

FONTS = ("Libertinus Serif",)
"""Embedded in the Typst package (SIL Open Font Licence)."""
STANDARD: Final = "ua-1"
"""PDF/UA-1 (ISO 14289-1): tagged, with title, language and alternative texts; Typst checks it."""
_SURE = frozenset(map(chr, range(0x20, 0x7F))) | frozenset("\n \u00a0")


@dataclass(frozen=True, slots=True)
class Fonts:
    """Fonts for some texts.

    Args:
        system: Whether the system's fonts are needed beside the embedded ones.
        missing: Letters, each with its marks, that no font has.
    """

    system: bool
    missing: frozenset[str]


@cache
def load_template(name: str) -> str:
    """Read one of our templates, with what all of them share in front."""
    folder = files("builder") / "templates" / "typst"
    parts = [(folder / f"{part}.typ").read_text(encoding="utf-8") for part in ("common", name)]
    return "\n".join(parts)


def split_clusters(text: str) -> list[str]:
    """Cut a text into letters, each with the marks that belong to it."""
    clusters: list[str] = []
    for sign in text:
        joins = unicodedata.category(sign) in ("Mn", "Mc", "Me") or sign in "\u200c\u200d\ufe0f"
        if joins and clusters:
            clusters[-1] += sign
        else:
            clusters.append(sign)
    return clusters


def find_fonts(texts: Iterable[str]) -> Fonts:
    """Find out which fonts some texts need, and which letters no font has.

    Args:
        texts: All that will be printed.
    """
    clusters = {each for text in texts for each in split_clusters(text) if not _is_sure(each)}
    if not clusters or _can_set(sorted(clusters), system=False):
        return Fonts(False, frozenset())
    if _can_set(sorted(clusters), system=True):
        return Fonts(True, frozenset())
    missing = frozenset(_find_unset(sorted(clusters)))
    return Fonts(not _can_set(sorted(clusters - missing), system=False), missing)


def tell_missing(fonts: Fonts) -> list[str]:
    """Say which letters of a course cannot be printed; nothing where all can."""
    if not fonts.missing:
        return []
    listed = " ".join(sorted(fonts.missing)[:20])
    return [f"no font on this machine has these letters of the course: {listed}"]


def _is_sure(cluster: str) -> bool:
    return cluster in _SURE


def _find_unset(clusters: list[str]) -> list[str]:
    """Give the letters no font has, by halving."""
    if not clusters or _can_set(clusters, system=True):
        return []
    if len(clusters) == 1:
        return clusters
    middle = len(clusters) // 2
    return _find_unset(clusters[:middle]) + _find_unset(clusters[middle:])


@cache
def _load_fonts(system: bool) -> Any:
    import typst

    return typst.Fonts(include_system_fonts=system)


def _can_set(clusters: list[str], *, system: bool) -> bool:
    """Say whether every letter has a shape: PDF/UA refuses one that has none."""
    import typst

    source = (
        f'#set document(title: "fonts", date: none)\n#set text(font: "{FONTS[0]}")\n'
        "#json(bytes(sys.inputs.data)).join(parbreak())"
    )
    try:
        typst.compile(
            source.encode(),
            font_paths=_load_fonts(system),
            ignore_system_fonts=not system,
            sys_inputs={"data": json.dumps(clusters)},
            pdf_standards=STANDARD,
        )
    except typst.TypstError:
        return False
    return True


def make_pdf(template: str, data: Mapping[str, Any], fonts: Fonts) -> bytes:
    """Set a template with its data.

    Args:
        template: Name of a template, without `.typ`.
        data: What it shows; plain values.
        fonts: What `find_fonts` said. Where letters are missing the PDF cannot be checked against
            the standard and is only tagged.

    Returns:
        The PDF; without dates, so that the same data give the same file.
    """
    import typst

    body = json.dumps({**data, "fonts": list(FONTS)}, ensure_ascii=False)
    pdf = typst.compile(
        load_template(template).encode(),
        font_paths=_load_fonts(fonts.system),
        ignore_system_fonts=not fonts.system,
        sys_inputs={"data": body},
        pdf_standards=None if fonts.missing else STANDARD,
    )
    assert isinstance(pdf, bytes)
    return pdf
