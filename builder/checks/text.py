"""Rules about texts and sources: links that may be followed, facts that can be traced."""

from __future__ import annotations

import re
from collections.abc import Iterator

from builder.checks.rule import Found, rule
from builder.course import Course
from builder.diagnostics import Severity
from builder.model import LINKED_KINDS, Hazard, MarkdownText, PlainText, RefersTo
from builder.text import BRACES, WEB_SCHEMES

NEEDS_SOURCE = frozenset(
    {Hazard.FLAMMABLE, Hazard.CORROSIVE, Hazard.SENSITISER, Hazard.TOXIC, Hazard.OXIDISER}
)
"""Hazards that nobody sees by looking, so a material with one says where that is known from."""


@rule("link-unsafe", "text")
def check_link_unsafe(course: Course) -> Iterator[Found]:
    """A link or picture in a text leads where a reader must not be sent.

    A `javascript:` or `data:` address runs whatever it holds in the reader's browser. Allowed are
    addresses that begin with `https:` or `http:`, and links to entries such as `defect:some-id`.
    Pictures are not loaded by a text at all, because a page asks nothing of any other host; a
    drawing is named in the field `picture`.

    Failing:

        # file: kb/glossary.yml
        blotting:
          text: Drying a flower. [More](javascript:alert(1))

    Passing:

        # file: kb/glossary.yml
        blotting:
          text: Drying a flower between two sheets. [More](https://example.org/blotting)
    """
    for entry, route, link in course.links:
        if link.is_picture:
            message = f'a text loads the picture "{link.target}"'
            hint = "name a drawing in the field picture instead"
        elif link.scheme in WEB_SCHEMES or link.reference or not link.scheme:
            continue
        else:
            message = f'the link "{link.target}" may not be followed'
            hint = (
                "a link begins with https: or http:, or names an entry: one of "
                f"{', '.join(LINKED_KINDS)}, then a colon and its id"
            )
        yield Found(entry, route, message, hint)


@rule("citation-missing", "text")
def check_citation_missing(course: Course) -> Iterator[Found]:
    """A number that is a fact, or a hazard, cannot be traced to its source.

    Limits, flash points, densities, highest temperatures and hazard statements decide what is safe.
    Each names its source, and the source must exist, so that a reader can look it up and see how
    sure it is; common practice and memory are sources too, and are shown as what they are. A
    material that is flammable, corrosive, sensitising, toxic or oxidising must name a source
    somewhere: in a fact, in its hazard label, or in its list of citations.

    Failing:

        # file: kb/materials.yml
        varnish:
          hazards: [flammable]
        paste:
          density: {value: 1.1 g/mL, citation: label-of-the-jar}

    Passing:

        # file: kb/materials.yml
        varnish:
          hazards: [flammable]
          citations: [safety-sheet]
        paste:
          density: {value: 1.1 g/mL, citation: safety-sheet}
        # file: kb/citations.yml
        safety-sheet: {title: Safety data sheet, certainty: practice}
    """
    library = course.library
    for entry, route, mark, text in course.marks:
        if not isinstance(mark, RefersTo) or route[-1] != "citation":
            continue
        if not library.exists(mark.kind, text):
            yield Found(
                entry,
                route,
                f'this fact names the source "{text}", which does not exist',
                library.suggest("citation", text),
            )
    of_material = course.hazards.materials
    for material in library.materials.values():
        found = [each for each in of_material[material.id] if each in NEEDS_SOURCE]
        facts = (material.ghs, material.highest_temperature, material.density)
        sourced = any(fact is not None for fact in facts) or material.citations
        if found and not (sourced or material.flash_points or material.limits):
            hazards = " and ".join(found)
            yield Found(
                material,
                ("hazards",),
                f'material "{material.id}" has the hazard {hazards}, and no source says so',
                "name its safety data sheet, or whatever tells you so, in citations",
                key=True,
            )


_MARKUP = re.compile(
    r"\]\(|\]\[|!\[|`|</?[A-Za-z!]|\*\*|(?<!\w)__(?=\S)"
    r"|(?<![\w*])\*(?=\S)[^*\n]*(?<=\S)\*(?![\w*])|(?<!\w)_(?=[^\s_])[^_\n]*(?<=[^\s_])_(?!\w)"
)


@rule("markup-in-plain", "text", Severity.WARNING)
def check_markup_in_plain(course: Course) -> Iterator[Found]:
    """Markdown is written into a field that holds plain text.

    Names, titles, labels and summaries stand in headings, lists, menus and drawings, where nothing
    but letters can stand. So they are shown as they are written, brackets, stars and all: a reader
    would see `[like this](defect:some-id)`. Longer texts, such as `text` and `why`, take Markdown.

    Failing:

        # file: kb/glossary.yml
        blotting:
          name: "**Blotting**"

    Passing:

        # file: kb/glossary.yml
        blotting:
          name: Blotting
          text: Drying a flower between **two** sheets.
    """
    for entry, route, mark, text in course.marks:
        if not isinstance(mark, PlainText) or text.isalnum():
            continue
        found = _MARKUP.search(text)
        braces = None if mark.braces else BRACES.search(text)
        if found is None and (braces is None or not re.search(r"\d", braces[0])):
            continue
        what = "Markdown" if found else "a quantity in braces"
        yield Found(
            entry,
            route,
            f'this field holds plain text, and {what} in it is shown as it stands: "{_cut(text)}"',
            "write it as readers are to see it",
        )


_SPOKEN_OF = re.compile(
    r"\]\([^)]*\)|`[^`]*`|(?<!\*)\*(?!\*)[^*\n]+\*(?!\*)|\"[^\"]*\"|“[^”]*”|\{[^}]*\}", re.DOTALL
)
"""Left out of the search for other names: targets of links, and words that are spoken of."""
_OWN_WORDS = frozenset({"citation", "case"})
"""Kinds whose texts keep their own words: titles of others, and what people said."""


@rule("other-name", "text", Severity.WARNING)
def check_other_name(course: Course) -> Iterator[Found]:
    """A text uses a word that the glossary gives up for another.

    A reader who meets two words looks for two things. So each thing has one name, and a term lists
    in `instead_of` the words that lost. They still lead to it in the search. A word that is itself
    spoken of may stand anywhere, in italics or in quotation marks.

    Failing:

        # file: kb/glossary.yml
        blotting:
          name: Blotting
          text: Drying a flower. It comes before the mangling.
        pressing:
          name: Pressing
          text: Drying a flower under a weight.
          instead_of: [mangling]

    Passing with `text: Drying a flower. It comes before the pressing, which some call
    *mangling*.` in place of `text: Drying a flower. It comes before the mangling.`.
    """
    lost = {
        word.casefold(): term for term in course.library.terms.values() for word in term.instead_of
    }
    if not lost:
        return
    words = sorted(lost, key=lambda word: (-len(word), word))
    pattern = re.compile(
        rf"(?<![\w-])(?:{'|'.join(map(re.escape, words))})(?![\w-])", re.IGNORECASE
    )
    for entry, route, mark, text in course.marks:
        if not isinstance(mark, PlainText | MarkdownText) or entry.kind in _OWN_WORDS:
            continue
        for found in pattern.finditer(" ".join(_SPOKEN_OF.sub(" ", text).split())):
            term = lost[found[0].casefold()]
            if entry.kind == "term" and (term.id == entry.id or route[0] in ("also", "instead_of")):
                continue  # where the words are listed for the search
            yield Found(
                entry,
                route,
                f'"{found[0]}" has another name in this course: {term.name.lower()}',
                f'write "{term.name.lower()}", or set the word in quotation marks or italics'
                " where it is itself spoken of",
            )


def _cut(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:60]}..."
