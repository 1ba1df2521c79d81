"""The cause-and-fix graph and the prerequisite graph."""

from __future__ import annotations

import random

import networkx as nx
import pytest
from helpers import complete, make_library, overlay

from builder.graph import (
    Gap,
    build_cause_graph,
    build_prerequisite_graph,
    find_ancestry,
    find_breaking_edge,
    find_circles,
    find_gap,
    find_knots,
    find_reachable,
    find_takeable,
    order_lessons,
)
from builder.library import Library


def flowers(source: str = "") -> Library:
    return make_library(overlay(source))[0]


def lessons(**needs: str) -> Library:
    """Lessons with what each needs, as `name="level: needed needed"`."""
    files = []
    for name, words in needs.items():
        level, _, needed = words.partition(":")
        listed = ", ".join(needed.split())
        files.append(f"# file: lessons/{name}.yml\nlevel: {level}\nprerequisites: [{listed}]\n")
    return make_library(complete("".join(files)))[0]


def numbered(edges: list[tuple[int, int]], nodes: int = 0) -> nx.DiGraph[tuple[str, str]]:
    graph: nx.DiGraph[tuple[str, str]] = nx.DiGraph()
    graph.add_nodes_from(("lesson", f"{number:03}") for number in range(nodes))
    graph.add_edges_from((("lesson", f"{a:03}"), ("lesson", f"{b:03}")) for a, b in edges)
    return graph


def test_edges_run_from_what_is_seen_to_what_helps() -> None:
    graph = build_cause_graph(flowers())
    assert set(graph.successors(("symptom", "damp-feel"))) == {("defect", "wrinkled-sheet")}
    assert set(graph.successors(("defect", "wrinkled-sheet"))) == {
        ("cause", "flower-too-wet"),
        ("cause", "lifted-early"),
    }
    assert set(graph.successors(("cause", "flower-too-wet"))) == {
        ("fix", "press-again"),
        ("fix", "blot-first"),
    }
    assert len(graph) == 3 + 2 + 3 + 3


def test_an_edge_knows_who_declares_it_where_and_how_often() -> None:
    graph = build_cause_graph(flowers())
    edge = graph.edges[("symptom", "damp-feel"), ("defect", "wrinkled-sheet")]
    assert edge == {
        "owner": ("defect", "wrinkled-sheet"),
        "route": ("symptoms", 1, "symptom"),
        "often": 0.3,
    }
    edge = graph.edges[("cause", "flower-too-wet"), ("fix", "blot-first")]
    assert edge["owner"] == ("cause", "flower-too-wet")
    assert edge["often"] == 0.8


def test_a_broken_entry_keeps_the_edges_its_file_shows() -> None:
    library = flowers(
        "# file: kb/causes/paste-too-hot.yml\n"
        "name: Paste too hot\nfixes:\n  - {fix: cool-the-paste, helps: perhaps}\n  - nonsense\n"
    )
    graph = build_cause_graph(library)
    assert graph.nodes["cause", "paste-too-hot"] == {"broken": True}
    assert graph.has_edge(("cause", "paste-too-hot"), ("fix", "cool-the-paste"))
    assert graph.graph["holes"] == frozenset()


def test_what_cannot_be_read_at_all_is_a_hole() -> None:
    graph = build_cause_graph(flowers("# file: kb/causes/paste-too-hot.yml\na: [\n"))
    assert graph.graph["holes"] == {"cause"}
    graph = build_cause_graph(flowers("# file: kb/symptoms.yml\na: [\n"))
    assert graph.graph["holes"] == {"symptom"}


def test_a_name_that_no_entry_has_is_a_node_marked_unknown() -> None:
    graph = build_prerequisite_graph(lessons(folding="beginner: nobody"))
    assert graph.nodes["lesson", "nobody"] == {"unknown": True}
    assert list(graph.edges) == [(("lesson", "nobody"), ("lesson", "folding"))]


def test_reachable_follows_the_edges_from_what_exists() -> None:
    graph = numbered([(0, 1), (1, 2), (3, 2)])
    assert find_reachable(graph, [("lesson", "000"), ("lesson", "999")]) == {
        ("lesson", "000"),
        ("lesson", "001"),
        ("lesson", "002"),
    }


GAP_FILES = """\
# file: kb/symptoms.yml
wavy: {}
# file: kb/defects/seen.yml
symptoms: [{symptom: wavy, often: usually}]
causes: [{cause: known, often: often}]
# file: kb/defects/unseen.yml
causes: [{cause: hidden, often: often}]
# file: kb/causes/known.yml
fixes: [{fix: good, helps: often}]
# file: kb/causes/hidden.yml
fixes: [{fix: lost, helps: often}, {fix: half-lost, helps: often}]
# file: kb/causes/orphan.yml
fixes: [{fix: lost, helps: often}, {fix: cut-off, helps: often}, {fix: half-lost, helps: often}]
# file: kb/fixes/good.yml
{}
# file: kb/fixes/lost.yml
{}
# file: kb/fixes/half-lost.yml
{}
# file: kb/fixes/cut-off.yml
{}
# file: kb/fixes/alone.yml
{}
"""


@pytest.mark.parametrize(
    ("node", "gap"),
    [
        (("fix", "good"), None),
        (("cause", "known"), None),
        (("fix", "alone"), Gap((("fix", "alone"),), "cause")),
        (("fix", "cut-off"), Gap((("cause", "orphan"), ("fix", "cut-off")), "defect")),
        # Two ways up: the one that gets nearer to a symptom is the cheaper to mend.
        (
            ("fix", "lost"),
            Gap((("defect", "unseen"), ("cause", "hidden"), ("fix", "lost")), "symptom"),
        ),
        (("cause", "orphan"), Gap((("cause", "orphan"),), "defect")),
        (("defect", "unseen"), Gap((("defect", "unseen"),), "symptom")),
    ],
)
def test_the_gap_is_one_edge_away_from_a_symptom(node: tuple[str, str], gap: Gap | None) -> None:
    graph = build_cause_graph(make_library(complete(GAP_FILES))[0])
    assert find_gap(graph, node) == gap
    if gap is not None:
        bridge = {"cause": ("cause", "known"), "defect": ("defect", "seen")}
        graph.add_edge(bridge.get(gap.missing, ("symptom", "wavy")), gap.chain[0])
        assert find_gap(graph, node) is None


def test_each_knot_gives_one_shortest_circle_from_its_smallest_node() -> None:
    graph = numbered([(1, 2), (2, 3), (3, 1), (2, 1), (5, 5), (6, 7), (3, 6)])
    circles = [[name for _, name in circle] for circle in find_circles(graph)]
    assert circles == [["001", "002"], ["005"]]
    assert {name for _, name in find_knots(graph)} == {"001", "002", "003", "005"}


@pytest.mark.parametrize("seed", range(20))
def test_circles_are_circles_of_the_graph(seed: int) -> None:
    chance = random.Random(seed)
    edges = [(chance.randrange(8), chance.randrange(8)) for _ in range(11)]
    graph = numbered(edges, 8)
    circles = find_circles(graph)
    for circle in circles:
        for before, after in zip(circle, (*circle[1:], circle[0]), strict=True):
            assert graph.has_edge(before, after)
        assert min(circle) == circle[0]
        assert len(set(circle)) == len(circle)
    assert bool(circles) == (not nx.is_directed_acyclic_graph(graph))


def test_the_breaking_edge_is_the_one_from_the_later_level() -> None:
    library = lessons(a="beginner: c", b="beginner: a", c="advanced: b")
    graph = build_prerequisite_graph(library)
    (circle,) = find_circles(graph)
    assert [name for _, name in circle] == ["a", "b", "c"]
    assert find_breaking_edge(graph, circle, library) == (("lesson", "c"), ("lesson", "a"))
    level = lessons(a="beginner: c", b="beginner: a", c="beginner: b")
    assert find_breaking_edge(graph, circle, level) == (("lesson", "c"), ("lesson", "a"))


def test_lessons_come_after_what_they_need_then_by_level_and_id() -> None:
    library = lessons(
        zinc="beginner:", apples="intermediate:", pears="beginner: zinc", bees="beginner: apples"
    )
    assert order_lessons(library) == ("zinc", "pears", "apples", "bees")


def test_the_order_does_not_depend_on_the_order_of_files() -> None:
    needs = {"a": "beginner: d", "b": "advanced:", "c": "beginner:", "d": "beginner:"}
    expected = order_lessons(lessons(**needs))
    for seed in range(5):
        names = list(needs)
        random.Random(seed).shuffle(names)
        assert order_lessons(lessons(**{name: needs[name] for name in names})) == expected


def test_lessons_of_a_circle_still_get_a_place() -> None:
    library = lessons(a="beginner: b", b="beginner: a", c="beginner: a", d="beginner:")
    order = order_lessons(library)
    assert sorted(order) == ["a", "b", "c", "d"]
    assert order.index("c") > order.index("a")


@pytest.mark.parametrize("seed", range(20))
def test_ancestry_agrees_with_walking_back(seed: int) -> None:
    chance = random.Random(seed)
    graph = numbered([(chance.randrange(9), chance.randrange(9)) for _ in range(14)], 9)
    ancestry = find_ancestry(graph)
    for node in graph:
        walked = nx.ancestors(graph, node)
        for other in graph:
            if other != node:
                assert ancestry.comes_before(other, node) == (other in walked)
    assert not ancestry.comes_before(("lesson", "nobody"), ("lesson", "000"))


def test_what_stands_behind_a_circle_cannot_be_taken() -> None:
    graph = numbered([(0, 1), (1, 0), (1, 2), (2, 3), (4, 3), (4, 5)])
    assert {name for _, name in find_takeable(graph)} == {"004", "005"}
