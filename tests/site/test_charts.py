"""The shipped decision charts: true to the model, clear to read, one sheet each, on the pages."""

from __future__ import annotations

from functools import cache

import pytest

from builder.course import Course
from builder.diagnosis.decision_tree import Leaf, list_leaves
from builder.diagnosis.decision_words import ChartWords
from builder.drawings.decision_chart import lay_out
from builder.library import Library, load_library
from builder.papers.decision_charts import CHART_MM, describe_charts, make_chart_papers
from tests.chart_proof import prove_chart, prove_layout
from tests.pdf import count_pages, read_pages
from tests.shipped import ROOT

pytestmark = pytest.mark.site

LEAST_TYPE_MM = 2.5
"""Letters of 7 pt: small print that is read at arm's length."""


@cache
def load_shipped() -> Library:
    return load_library(ROOT)[0]


def test_every_chart_is_what_the_model_says() -> None:
    library = load_shipped()
    charts = Course(library).likelihoods.charts
    assert {chart.defect for chart in charts} == set(library.defects)
    for chart in charts:
        prove_chart(library, chart)
        prove_layout(lay_out(ChartWords(library), chart))


def test_most_charts_ask_and_settle() -> None:
    library = load_shipped()
    # Where a defect has one cause, or use is forbidden whatever the cause, there is nothing to ask.
    charts = [
        chart
        for chart in Course(library).likelihoods.charts
        if len(library.defects[chart.defect].causes) > 1 and not library.defects[chart.defect].stop
    ]
    assert sum(isinstance(chart.root, Leaf) for chart in charts) <= len(charts) / 5
    leaves = [leaf for chart in charts for leaf in list_leaves(chart.root)]
    settled = sum(leaf.share for leaf in leaves if leaf.causes[0][1] >= 0.7)
    assert settled / len(charts) > 0.75


def test_every_chart_stands_on_one_sheet_and_is_large_enough() -> None:
    library = load_shipped()
    charts = Course(library).likelihoods.charts
    data = describe_charts(Course(library), charts, "a4")
    for chart, sheet in zip(charts, data["charts"], strict=True):
        layout = lay_out(ChartWords(library), chart)
        scale = sheet["drawing"]["width"] / layout.width
        assert layout.height * scale <= CHART_MM[1] + 1e-6
        assert scale * 15.0 >= LEAST_TYPE_MM
    papers = make_chart_papers(Course(library)).files
    pages = read_pages(papers["charts.pdf"])
    assert len(pages) == 1 + len(charts)
    for chart, words in zip(charts, pages[1:], strict=True):
        assert library.defects[chart.defect].name in words
        for leaf in list_leaves(chart.root):
            assert all(library.causes[name].name in words for name, _ in leaf.causes)
    assert count_pages(papers["card.pdf"]) == 2 * 2  # two tracks, two sides each
    card = " ".join(" ".join(read_pages(papers["card.pdf"])).split())
    stop = library.defects["lye-heavy-bar"].stop
    assert stop is not None
    assert stop.do[0] in card


def test_another_size_of_paper_holds_them_too() -> None:
    papers = make_chart_papers(Course(load_shipped()), paper="letter").files
    assert count_pages(papers["charts.pdf"]) == 1 + len(Course(load_shipped()).likelihoods.charts)
    assert count_pages(papers["card.pdf"]) == 2 * 2  # two tracks, two sides each
