"""What the reader itself reports, documented like every other rule.

These findings are made while YAML is read and turned into entries (`yaml_source`, `library`),
before any rule runs, so they have no function here.
"""

from __future__ import annotations

from builder.checks.rule import describe_rule
from builder.diagnostics import Severity

yaml_syntax = describe_rule(
    "yaml-syntax",
    "reading",
    """
A file is not YAML that a course can be read from.

A bracket is not closed, a tab indents a line, the file is not UTF-8 text, or the file cannot be
read at all. Nothing in such a file can be used, so it is left out as a whole; the rest of the
course is checked all the same. Tags
(words that begin with an exclamation mark), merge keys (`<<`) and aliases that contain themselves
are not used in a course either, and are reported here.

Failing:

    # file: kb/glossary.yml
    blotting: {name: Blotting, text: Drying a flower.

Passing:

    # file: kb/glossary.yml
    blotting: {name: Blotting, text: Drying a flower.}
""",
)

yaml_duplicate_key = describe_rule(
    "yaml-duplicate-key",
    "reading",
    """
The same key stands twice in one mapping.

YAML lets the second one win without a word, so half of what was written is lost. The first is
kept, and both places are shown.

Failing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting
      text: Drying a flower.
      text: Drying a flower between two sheets of paper.

Passing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting
      text: Drying a flower between two sheets of paper.
""",
)

yaml_ambiguous_scalar = describe_rule(
    "yaml-ambiguous-scalar",
    "reading",
    """
A plain word can be read as something that was not meant.

To one reader of YAML or another, `no` is false, `1:30` is ninety, `012` is ten and `.inf` is a
number. Text in quotes is always text, so the quotes say what is meant.

Failing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting
      text: Drying a flower.
      also: [no, 1:30]

Passing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting
      text: Drying a flower.
      also: ["no", "1:30"]
""",
)

field_unknown = describe_rule(
    "field-unknown",
    "reading",
    """
An entry has a field that its kind does not know.

It would be passed over without a word, so a slip of the keyboard would lose what was written. The
nearest field is suggested. An id is never written as a field: it is the name of the file, or the
key in a file of many.

Failing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting
      text: Drying a flower.
      aslo: [drying]

Passing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting
      text: Drying a flower.
      also: [drying]
""",
)

field_missing = describe_rule(
    "field-missing",
    "reading",
    """
An entry lacks a field that its kind needs.

The hint says what the field holds. `benchlore new` writes a starting file with all of them.

Failing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting

Passing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting
      text: Drying a flower.
""",
)

id_duplicate = describe_rule(
    "id-duplicate",
    "reading",
    """
Two entries of one kind have the same id.

A reference could mean either of them. It happens where a kind is kept both in one file of many and
in a folder. The first is kept, and both places are shown.

Failing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting
      text: Drying a flower.
    # file: kb/glossary/blotting.yml
    name: Blotting paper
    text: What a flower is dried with.

Passing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting
      text: Drying a flower.
    # file: kb/glossary/blotting-paper.yml
    name: Blotting paper
    text: What a flower is dried with.
""",
)

drawing_unsafe = describe_rule(
    "drawing-unsafe",
    "reading",
    """
A drawing holds something that could run, load or link.

A drawing becomes part of the page it stands on, so what is in it happens in the browser of every
reader. Shapes, gradients and words are allowed, with their colours, widths and places; scripts,
handlers such as `onload`, links, pictures and fonts from elsewhere, style sheets, animations and
foreign HTML are not. What is refused is left out, and named with its line. Drawing programs can
save as plain SVG, which is mostly all it takes.

Failing:

    # file: kb/drawings/wavy-sheet.svg
    <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 160 120">
      <path d="M10 60Q40 20 80 60T150 60" onclick="alert(1)"/>
    </svg>

Passing:

    # file: kb/drawings/wavy-sheet.svg
    <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 160 120">
      <path d="M10 60Q40 20 80 60T150 60" fill="none" stroke="currentColor"/>
    </svg>
""",
)

text_cut = describe_rule(
    "text-cut",
    "reading",
    """
A sentence ends where a comment begins.

In YAML a space and `#` begin a comment, so `Use scale #2 only if it is dry` is read as `Use scale`,
and the condition is gone without a trace. Where the sign belongs to the text, put the text in
quotes or below `>-`; a true comment stands in a line of its own, or two spaces away.

Failing:

    # file: kb/glossary.yml
    blotting:
      name: Blotting
      text: Drying a flower on sheet #2, never on sheet 1.

Passing:

    # file: kb/glossary.yml
    blotting:
      # The sheets are numbered on the shelf.
      name: Blotting
      text: "Drying a flower on sheet #2, never on sheet 1."
""",
    Severity.WARNING,
)
