"""Decision charts: the tree against the model, the drawing as numbers and as SVG."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from builder.course import Course
from builder.diagnosis.decision_tree import Leaf, Split, list_leaves
from builder.diagnosis.decision_words import ChartWords
from builder.drawings.decision_chart import draw_chart, lay_out, list_chart
from tests.chart_course import load_faded
from tests.chart_proof import count_questions, prove_chart, prove_layout
from tests.golden import check_golden
from tests.helpers import make_library, overlay

SVG = "{http://www.w3.org/2000/svg}"


def test_the_tree_is_what_the_model_says() -> None:
    (chart,) = Course(load_faded()).likelihoods.charts
    prove_chart(load_faded(), chart)
    assert count_questions(chart.root) >= 2


def test_the_signs_are_the_usual_ones() -> None:
    (chart,) = Course(load_faded()).likelihoods.charts
    assert chart.signs == ("pale",)


def test_a_cause_that_no_ending_names_is_also_possible() -> None:
    (chart,) = Course(load_faded()).likelihoods.charts
    named = {name for leaf in list_leaves(chart.root) for name, _ in leaf.causes}
    assert "scorched" not in named
    assert chart.possible == ("scorched",)
    assert "Also possible: The iron was too hot." in ChartWords(load_faded()).notes(chart)


def test_where_no_fix_is_known_the_chart_says_so() -> None:
    (chart,) = Course(load_faded()).likelihoods.charts
    bare = replace(chart.first, now=None)
    assert "This card: Nothing that helps." in ChartWords(load_faded()).say_end(bare)


def test_the_fix_is_for_the_likeliest_cause_even_where_another_is_cheaper() -> None:
    (chart,) = Course(load_faded()).likelihoods.charts
    stale = [leaf for leaf in list_leaves(chart.root) if leaf.causes[0][0] == "stale"]
    assert stale
    assert [name for name, _ in stale[0].causes] == ["stale", "sunned"]
    assert stale[0].next == "pick-fresh"


def test_a_settled_defect_asks_nothing() -> None:
    library = make_library(overlay(""))[0]
    charts = Course(library).likelihoods.charts
    assert [chart.defect for chart in charts] == sorted(library.defects)
    for chart in charts:
        prove_chart(library, chart)
        assert chart.root == chart.first
        prove_layout(lay_out(ChartWords(library), chart))


def test_a_question_whose_answers_end_alike_is_left_out() -> None:
    for chart in Course(load_faded()).likelihoods.charts:
        waiting = [chart.root]
        while waiting:
            branch = waiting.pop()
            if isinstance(branch, Split):
                waiting += [branch.yes, branch.no]
                if isinstance(branch.yes, Leaf) and isinstance(branch.no, Leaf):
                    assert _conclude(branch.yes) != _conclude(branch.no)


def _conclude(leaf: Leaf) -> tuple[object, ...]:
    return [name for name, _ in leaf.causes], leaf.now, leaf.next


def test_a_defect_without_causes_has_no_chart() -> None:
    library = make_library(
        overlay("""
# file: kb/defects/odd.yml
name: Odd
summary: Odd.
tracks: [cards]
looks: Odd.
why: Odd.
""")
    )[0]
    assert Course(library).likelihoods.make_chart("odd") is None


def test_nothing_overlaps_or_crosses() -> None:
    library = load_faded()
    (chart,) = Course(library).likelihoods.charts
    prove_layout(lay_out(ChartWords(library), chart))


# Trees of any shape, with words of any length: the layout holds whatever the model says.
LEAVES = st.builds(
    Leaf,
    answers=st.just(()),
    share=st.floats(0.01, 1.0),
    causes=st.lists(
        st.tuples(st.sampled_from(["sunned", "damped", "stale"]), st.floats(0.0, 1.0)),
        min_size=1,
        max_size=3,
    ).map(tuple),
    now=st.sampled_from([None, "frame-it"]),
    next=st.sampled_from([None, "keep-dark", "pick-fresh"]),
)
TREES = st.recursive(
    LEAVES,
    lambda below: st.builds(
        Split,
        answers=st.just(()),
        share=st.floats(0.01, 1.0),
        question=st.sampled_from(["by-window", "damp-shelf", "old-flower", "hot-iron"]),
        gain=st.just(0.5),
        yes=below,
        no=below,
    ),
    max_leaves=8,
)


@given(TREES)
def test_a_tree_of_any_shape_keeps_clear(root: Leaf | Split) -> None:
    library = load_faded()
    (chart,) = Course(library).likelihoods.charts
    prove_layout(lay_out(ChartWords(library), replace(chart, root=root)))


def test_the_drawing_says_everything_to_every_reader() -> None:
    library = load_faded()
    (chart,) = Course(library).likelihoods.charts
    svg = ElementTree.fromstring(draw_chart(library, chart))
    title, described = svg.findtext(f"{SVG}title"), svg.findtext(f"{SVG}desc") or ""
    assert svg.get("role") == "img"
    assert title == "Faded & dull <colour>: decision chart"
    ids = {each.get("id") for each in svg.iter() if each.get("id")}
    assert set((svg.get("aria-labelledby") or "").split()) == ids
    shown = " ".join(each.text or "" for each in svg.iter(f"{SVG}text"))
    listed = list_chart(library, chart)
    for leaf in list_leaves(chart.root):
        assert ChartWords(library).say_end(leaf) in described
        assert ChartWords(library).say_end(leaf) in listed
        for name, _ in leaf.causes:
            assert library.causes[name].name in shown
    answers = [each.text for each in svg.iter(f"{SVG}text") if each.text in ("yes", "no")]
    assert answers == ["yes", "no"] * count_questions(chart.root)
    assert listed.count("<strong>Yes.</strong>") == count_questions(chart.root)


def test_the_drawing_is_as_it_was_kept(accept: bool) -> None:
    (chart,) = Course(load_faded()).likelihoods.charts
    check_golden("chart.svg", draw_chart(load_faded(), chart), accept)
