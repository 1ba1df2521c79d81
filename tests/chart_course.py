"""The pressed-flower course with a defect of four causes, for decision charts."""

from __future__ import annotations

from functools import cache

from builder.library import Library
from tests.helpers import make_library, overlay

_CAUSE = """
# file: kb/causes/{id}.yml
name: {name}
summary: It happens.
what_happens: The colour goes.
how_common: {often}
evidence: [{{question: {question}, yes: usually}}]
fixes: [{fixes}]
"""

SOURCE = (
    """
# file: kb/questions.yml
by-window: {ask: "Did it hang by a window, or under a bright lamp?", yes_otherwise: rarely}
damp-shelf: {ask: "Was it kept on a damp shelf?", yes_otherwise: rarely}
old-flower: {ask: "Was the flower picked more than a day before?", yes_otherwise: rarely}
hot-iron: {ask: "Was the iron set to hot?", yes_otherwise: rarely}
# file: kb/symptoms.yml
wavy: {name: Wavy, label: wavy, text: Look along it., picture: sheet}
pale: {name: Paler than the day it was made, label: pale, text: Look at it., picture: sheet}
dry: {name: It feels dry, label: dry, text: Touch it., picture: sheet}
# file: kb/defects/faded.yml
name: Faded & dull <colour>
summary: The colour has gone.
tracks: [cards]
looks: Pale.
why: Light and water take the colour.
harmless: It may be sent all the same.
symptoms: [{symptom: pale, often: always}, {symptom: dry, often: sometimes}]
causes:
  - {cause: sunned, often: often}
  - {cause: damped, often: often}
  - {cause: stale, often: often}
  - {cause: scorched, often: sometimes}
# file: kb/fixes/frame-it.yml
name: Frame it behind dark glass
when: now
summary: Dark glass.
steps: [{text: Frame it.}]
time: 20 min
# file: kb/fixes/keep-dark.yml
name: Keep it in a drawer
when: next
summary: A drawer.
steps: [{text: Put it into a drawer.}]
time: 1 min
# file: kb/fixes/pick-fresh.yml
name: Pick it on the day
when: next
summary: The same day.
steps: [{text: Pick it.}]
time: 15 min
# without: kb/defects/brown-petals.yml
# without: kb/defects/wrinkled-sheet.yml
"""
    + _CAUSE.format(
        id="sunned",
        name="It hung in the sun",
        often="0.12",
        question="by-window",
        fixes="{fix: frame-it, helps: often}, {fix: keep-dark, helps: usually}",
    )
    + _CAUSE.format(
        id="damped",
        name="It was kept damp",
        often="0.1",
        question="damp-shelf",
        fixes="{fix: keep-dark, helps: usually}",
    )
    + _CAUSE.format(
        id="stale",
        name="The flower was old",
        often="0.09",
        question="old-flower",
        fixes="{fix: pick-fresh, helps: usually}",
    )
    + _CAUSE.format(
        id="scorched",
        name="The iron was too hot",
        often="0.045",
        question="by-window",
        fixes="",
    )
)


@cache
def load_faded() -> Library:
    """Read the course; what does not belong to the chart may dangle."""
    return make_library(overlay(SOURCE))[0]
