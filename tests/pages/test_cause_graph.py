"""The cause-and-fix graph: layout as numbers, drawing as SVG with links."""

from __future__ import annotations

from itertools import combinations, pairwise, permutations
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builder.course import Course
from builder.drawings.cause_graph import (
    PADDING,
    ROW_GAP,
    WIDTHS,
    GraphLayout,
    Label,
    draw_cause_graph,
    lay_out,
    place_in_order,
    stack,
)
from builder.drawings.text_room import estimate_width, wrap_text
from builder.pages.knowledge.graph_view import view_cause_graph
from builder.pages.maker import PageMaker, make_maker
from tests.helpers import make_library, overlay

Node = tuple[str, str]
CENTRE: Node = ("defect", "d")

WORDS = st.lists(
    st.text("abcdefghijklmnopqrstuvwxyzMW", min_size=1, max_size=24), min_size=1, max_size=6
).map(" ".join)


def complete(causes: int, fixes: int, joins: list[tuple[int, int]]) -> GraphLayout:
    """Lay out a defect with signs, causes and fixes in four columns."""
    return lay_out(*describe(causes, fixes, joins))


def describe(
    causes: int, fixes: int, joins: list[tuple[int, int]], signs: int = 2
) -> tuple[list[list[Label]], list[tuple[Node, Node]]]:
    """Describe a defect with signs, causes and fixes; `joins` are (cause, fix)."""
    columns = [
        [Label(("symptom", f"s{index}"), f"Sign {index}") for index in range(signs)],
        [Label(CENTRE, "A defect", pictured=True)],
        [Label(("cause", f"c{index}"), f"Cause {index}") for index in range(causes)],
        [Label(("fix", f"f{index}"), f"Fix {index}", "next time") for index in range(fixes)],
    ]
    edges = [(("symptom", f"s{index}"), CENTRE) for index in range(signs)]
    edges += [(CENTRE, ("cause", f"c{index}")) for index in range(causes)]
    edges += [(("cause", f"c{cause}"), ("fix", f"f{fix}")) for cause, fix in joins]
    return columns, edges


def count_crossings(layout: GraphLayout) -> int:
    """Count crossings by the heights at which curves begin and end."""
    return sum(
        (one.y1 - other.y1) * (one.y2 - other.y2) < 0
        for one, other in combinations(layout.curves, 2)
        if one.x1 == other.x1 and one.side is None and other.side is None
    )


def count_least(causes: int, fixes: int, joins: list[tuple[int, int]]) -> int:
    """Find the least number of crossings by trying every order of both columns."""
    least = len(joins) ** 2
    for left in permutations(range(causes)):
        for right in permutations(range(fixes)):
            places = [(left[cause], right[fix]) for cause, fix in joins]
            least = min(
                least,
                sum((a[0] - b[0]) * (a[1] - b[1]) < 0 for a, b in combinations(places, 2)),
            )
    return least


@st.composite
def drawable_without_crossing(draw: st.DrawFn) -> tuple[int, int, list[tuple[int, int]]]:
    """Make joins that can be drawn without a crossing, under shuffled names.

    Walking down two columns by single steps, on one side or the other, joins them by a drawing
    without crossings, and every such drawing is part of one (Harary and Schwenk, 1972).
    """
    steps = draw(st.lists(st.booleans(), min_size=0, max_size=14))
    cause = fix = 0
    joins = [(0, 0)]
    for down_left in steps:
        cause, fix = (cause + 1, fix) if down_left else (cause, fix + 1)
        joins.append((cause, fix))
    kept = [join for join in joins if draw(st.integers(0, 5))]
    causes = draw(st.permutations(range(cause + 1)))
    fixes = draw(st.permutations(range(fix + 1)))
    shuffled = draw(st.permutations([(causes[left], fixes[right]) for left, right in kept]))
    return cause + 1, fix + 1, shuffled


@st.composite
def any_joins(draw: st.DrawFn, most: int = 9) -> tuple[int, int, list[tuple[int, int]]]:
    causes = draw(st.integers(1, most))
    fixes = draw(st.integers(1, most))
    pairs = st.tuples(st.integers(0, causes - 1), st.integers(0, fixes - 1))
    return causes, fixes, draw(st.lists(pairs, unique=True, max_size=2 * most))


@given(drawable_without_crossing())
def test_no_crossing_where_none_is_needed(
    graph: tuple[int, int, list[tuple[int, int]]],
) -> None:
    assert count_crossings(complete(*graph)) == 0
    assert count_crossings(stack(*describe(*graph))) == 0


@given(any_joins(most=4))
def test_few_crossings_where_some_are_needed(
    graph: tuple[int, int, list[tuple[int, int]]],
) -> None:
    assert count_crossings(complete(*graph)) == count_least(*graph)


@given(any_joins(), st.data())
def test_every_box_is_inside_the_view_and_apart_from_the_others(
    graph: tuple[int, int, list[tuple[int, int]]], data: st.DataObject
) -> None:
    columns, edges = describe(*graph, signs=data.draw(st.integers(1, 5)))
    worded = [
        [Label(each.node, data.draw(WORDS), each.tag, each.pictured) for each in column]
        for column in columns
    ]
    for layout in (lay_out(worded, edges), stack(worded, edges)):
        check_boxes(layout, {each.node for column in columns for each in column})


def check_boxes(layout: GraphLayout, nodes: set[Node]) -> None:
    for box in layout.boxes:
        assert box.x >= 0
        assert box.y >= 0
        assert box.x + box.width <= layout.width
        assert box.y + box.height <= layout.height
    for one, other in combinations(layout.boxes, 2):
        beside = one.x + one.width <= other.x or other.x + other.width <= one.x
        above = one.y + one.height <= other.y or other.y + other.height <= one.y
        assert beside or above
    for column in layout.columns:
        for upper, lower in pairwise(column):
            assert lower.y - upper.y - upper.height >= ROW_GAP - 1e-6
    assert {box.node for box in layout.boxes} == nodes
    for x, y in layout.headings:
        assert 0 <= x <= layout.width
        assert 0 <= y <= layout.height
        assert not any(
            box.x <= x < box.x + box.width and box.y <= y < box.y + box.height
            for box in layout.boxes
        )


@given(any_joins())
def test_curves_run_from_right_side_to_left_side(
    graph: tuple[int, int, list[tuple[int, int]]],
) -> None:
    layout = complete(*graph)
    boxes = {box.node: box for box in layout.boxes}
    for curve in layout.curves:
        left, right = boxes[curve.start], boxes[curve.end]
        assert (curve.x1, curve.y1) == (left.x + left.width, left.middle)
        assert (curve.x2, curve.y2) == (right.x, right.middle)
        assert curve.x1 < curve.x2


@given(any_joins())
def test_side_lines_touch_no_box_but_those_they_join(
    graph: tuple[int, int, list[tuple[int, int]]],
) -> None:
    layout = stack(*describe(*graph))
    boxes = {box.node: box for box in layout.boxes}
    left = min(box.x for box in layout.boxes)
    sided = [curve for curve in layout.curves if curve.side is not None]
    assert len(sided) == 2 + graph[0]
    for curve in sided:
        assert curve.side is not None
        assert 0 < curve.side < left
        start, end = boxes[curve.start], boxes[curve.end]
        assert (curve.x1, curve.x2) == (start.x, end.x)
        assert start.y < curve.y1 < start.y + start.height
        assert end.y < curve.y2 < end.y + end.height
    # The line from the signs ends above where the line to the causes begins.
    centre = boxes[CENTRE]
    assert max(c.y2 for c in sided if c.end == CENTRE) < centre.middle
    assert min(c.y1 for c in sided if c.start == CENTRE) > centre.middle


@given(WORDS, st.sampled_from(sorted(WIDTHS)))
def test_wrapped_lines_fit_and_keep_every_letter(text: str, kind: str) -> None:
    width = WIDTHS[kind] - 2 * PADDING
    lines = wrap_text(text, width)
    assert all(estimate_width(line) <= width for line in lines)
    assert "".join(lines).replace("-", "").replace(" ", "") == text.replace(" ", "")


def test_a_long_word_is_parted_with_a_hyphen() -> None:
    assert wrap_text("a counterclockwise turn", 90) == ("a", "countercl-", "ockwise", "turn")


def test_a_number_stays_with_its_unit() -> None:
    lines = wrap_text("Use alcohol of 91 %, or more", 110)
    assert lines == ("Use alcohol", "of 91\u00a0%, or", "more")


def test_boxes_are_placed_as_near_to_their_wishes_as_the_order_allows() -> None:
    # Two that want the same place share the distance; the third is free to have its wish.
    assert place_in_order([10, 10, 100], [4, 4, 4], 2) == [7, 13, 100]


def test_the_likeliest_cause_stays_on_top_where_crossings_leave_a_choice() -> None:
    layout = complete(3, 3, [(0, 2), (1, 1), (2, 0)])
    assert [box.node[1] for box in layout.columns[2]] == ["c0", "c1", "c2"]
    assert [box.node[1] for box in layout.columns[3]] == ["f2", "f1", "f0"]


def test_the_same_graph_gives_the_same_layout() -> None:
    joins = [(0, 1), (1, 0), (1, 2), (2, 1), (2, 3), (0, 3)]
    assert complete(3, 4, joins) == complete(3, 4, joins)


@pytest.fixture(scope="module")
def maker() -> PageMaker:
    library, findings = make_library(overlay(""))
    assert not findings
    assert library.settings is not None
    return make_maker(Course(library))


def draw(maker: PageMaker, defect: str, shape: str = "wide") -> ElementTree.Element:
    """Draw a defect's graph and give one of its two shapes."""
    entry = maker.library.defects[defect]
    address = f"defects/{defect}/"
    both = draw_cause_graph(view_cause_graph(maker, entry, address), maker.words)
    root = ElementTree.fromstring(f"<both>{both}</both>")
    return next(svg for svg in root if svg.get("class") == f"bl-graph bl-graph-{shape}")


SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("shape", ["wide", "tall"])
def test_every_node_but_the_defect_is_a_link(maker: PageMaker, shape: str) -> None:
    picture = draw(maker, "wrinkled-sheet", shape)
    links = [link.get("href") for link in picture.iter("a")]
    assert links == [
        "../../diagnose/index.html#symptom-wavy",
        "../../diagnose/index.html#symptom-damp-feel",
        "../../causes/flower-too-wet/index.html",
        "../../causes/lifted-early/index.html",
        "../../causes/flower-too-wet/index.html#fix-blot-first",
        "../../causes/flower-too-wet/index.html#fix-press-again",
    ]


def test_lines_are_told_in_words(maker: PageMaker) -> None:
    titles = [
        title.text
        for link in draw(maker, "wrinkled-sheet").iter("a")
        for title in link.iter("title")
    ]
    assert titles == [
        "Wavy sheet",
        "Feels damp",
        "Flower too wet. Mended by: Blot it first; Press it again.",
        "Lifted too early. Mended by: Blot it first; Press it again.",
        "next time: Blot it first. Mends: Flower too wet; Lifted too early.",
        "this card: Press it again. Mends: Flower too wet; Lifted too early.",
    ]


@pytest.mark.parametrize("shape", ["wide", "tall"])
def test_the_whole_has_a_title_and_a_description(maker: PageMaker, shape: str) -> None:
    picture = draw(maker, "wrinkled-sheet", shape)
    assert picture.get("aria-labelledby") == f"bl-graph-{shape}-title bl-graph-{shape}-desc"
    named = {each.get("id"): each.text for each in picture if each.get("id")}
    assert named == {
        f"bl-graph-{shape}-title": "Wrinkled sheet: signs, causes and fixes",
        f"bl-graph-{shape}-desc": "2 signs lead to the defect; it has 2 causes, which 2 fixes "
        "mend. Thicker lines mean more often.",
    }


def test_how_often_shows_in_the_line(maker: PageMaker) -> None:
    lines = [
        path.get("class")
        for group in draw(maker, "wrinkled-sheet").iter("g")
        if group.get("class") == "bl-graph-edges"
        for path in group
    ]
    assert lines == [
        "bl-often-usually",
        "bl-often-sometimes",
        "bl-often-often",
        "bl-often-sometimes",
        "bl-often-usually",
        "bl-often-sometimes",
        "bl-often-sometimes",
        "bl-often-usually",
    ]


def test_the_defect_shows_its_drawing_without_words(maker: PageMaker) -> None:
    picture = draw(maker, "wrinkled-sheet")
    drawings = list(picture.iter(f"{SVG}svg"))
    assert len(drawings) == 1
    assert not list(drawings[0].iter(f"{SVG}title"))


def test_words_of_the_author_are_escaped() -> None:
    source = """
# file: kb/symptoms.yml
wavy: {name: "<script>x</script> & waves", label: wavy, text: Waves., picture: wavy}
damp-feel: {name: Feels damp, label: feels damp, text: Cool., picture: damp}
brown-edge: {name: Brown edge, label: brown edge, text: A line., picture: brown}
"""
    library, _ = make_library(overlay(source.lstrip()))
    assert library.settings is not None
    maker = make_maker(Course(library))
    view = view_cause_graph(maker, library.defects["wrinkled-sheet"], "defects/x/")
    svg = draw_cause_graph(view, maker.words)
    assert "<script>" not in svg
    assert "&lt;script&gt;" in svg


def test_a_defect_without_causes_or_signs_has_no_graph() -> None:
    source = """
# file: kb/defects/odd.yml
name: Odd
summary: Odd.
tracks: [cards]
looks: Odd.
why: Odd.
"""
    library, _ = make_library(overlay(source.lstrip()))
    assert library.settings is not None
    maker = make_maker(Course(library))
    view = view_cause_graph(maker, library.defects["odd"], "defects/odd/")
    assert draw_cause_graph(view, maker.words) == ""
