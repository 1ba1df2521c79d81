"""The two graphs of a course: from symptom to fix, and from lesson to lesson.

A node is `(kind, id)`. The cause-and-fix graph runs symptom -> defect -> cause -> fix; an edge
lives with the entry that asserts it (a defect names its symptoms and causes, a cause its fixes),
and carries `owner` (that node), `route` (where in it) and `often`. A fix for the thing in the hand
is named by a defect; its edges run from the causes of that defect and carry `faults`, the defects
for which they hold. The prerequisite graph runs from
a lesson to the lessons that need it, with the same `owner` and `route`.

In a course with errors there are also nodes marked `broken`, for entries that could not be typed,
with the edges their file plainly shows, and nodes marked `unknown`, for names that no entry has, so
that one error does not make all its neighbours look lost. Where not even a file's edges can be
read, the kind stands in `graph.graph["holes"]`: what a rule would say about missing edges of that
kind is unsure.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from builder.diagnostics import Route
from builder.library import Library
from builder.model import Lesson, Level
from builder.model.knowledge import RescueLink

if TYPE_CHECKING:
    import networkx as nx

    Graph = nx.DiGraph[tuple[str, str]]

Node = tuple[str, str]

CHAIN = ("symptom", "defect", "cause", "fix")
"""Kinds of the cause-and-fix graph, in the order in which its edges run."""

_DECLARED: Mapping[str, tuple[tuple[str, str, str, bool], ...]] = {
    # kind of owner: (field, key within an item, kind named, whether the edge runs from the owner)
    "defect": (("symptoms", "symptom", "symptom", False), ("causes", "cause", "cause", True)),
    "cause": (("fixes", "fix", "fix", True),),
}


def build_cause_graph(library: Library) -> Graph:
    """Build the graph symptom -> defect -> cause -> fix.

    Args:
        library: The course.

    Returns:
        A directed graph of `(kind, id)` nodes; edges carry `owner`, `route` and `often`.
    """
    import networkx as nx

    graph: Graph = nx.DiGraph()
    holes: set[str] = set()
    for kind in CHAIN:
        graph.add_nodes_from((kind, name) for name in library.entries.get(kind, {}))
    for kind, name in sorted(library.broken):
        if kind in CHAIN:
            if name != "*":
                graph.add_node((kind, name), broken=True)
            raw = _read_raw(library, kind, name)
            declared = _DECLARED.get(kind, ())
            if not isinstance(raw, dict) or any(field not in raw for field, *_ in declared):
                holes.add(kind)
    graph.graph["holes"] = frozenset(holes)
    for kind, declared in _DECLARED.items():
        for name, entry in library.entries.get(kind, {}).items():
            for field, key, other, forward in declared:
                for index, link in enumerate(getattr(entry, field)):
                    named = (other, getattr(link, key))
                    route = (field, index, key)
                    _connect(graph, (kind, name), named, forward, route, _often(link))
        for broken_kind, name in sorted(library.broken):
            raw = _read_raw(library, kind, name) if broken_kind == kind else None
            for field, key, other, forward in declared if isinstance(raw, dict) else ():
                for index, told in enumerate(_items(raw, field)):
                    if isinstance(told, dict) and isinstance(told.get(key), str):
                        route = (field, index, key)
                        _connect(graph, (kind, name), (other, told[key]), forward, route, None)
    _connect_rescues(library, graph)
    return graph


def find_rescues(library: Library) -> dict[str, list[tuple[str, RescueLink]]]:
    """Find what saves a thing that a cause acted on.

    Returns:
        By id of the cause, each defect it brings with the fixes that save from it then.
    """
    found: dict[str, list[tuple[str, RescueLink]]] = {}
    for defect in library.defects.values():
        for link in defect.causes:
            for rescue in defect.fixes:
                if not rescue.causes or link.cause in rescue.causes:
                    found.setdefault(link.cause, []).append((defect.id, rescue))
    return found


def _connect_rescues(library: Library, graph: Graph) -> None:
    """Add what saves the thing: from a cause of a defect to a fix that the defect names.

    Such an edge holds for this defect only; its `faults` say for which ones.
    """
    for name, defect in library.entries.get("defect", {}).items():
        brought = [link.cause for link in getattr(defect, "causes", ())]
        for index, rescue in enumerate(getattr(defect, "fixes", ())):
            for cause in rescue.causes or brought:
                edge = ("cause", cause), ("fix", rescue.fix)
                if not graph.has_edge(*edge):
                    graph.add_nodes_from((n for n in edge if n not in graph), unknown=True)
                    owner, route = ("defect", name), ("fixes", index, "fix")
                    graph.add_edge(*edge, owner=owner, route=route, often=rescue.helps, faults=[])
                if "faults" in graph.edges[edge]:
                    graph.edges[edge]["faults"].append(name)
    for kind, name in sorted(library.broken):
        raw = _read_raw(library, "defect", name) if kind == "defect" else None
        causes = [each.get("cause") for each in _items(raw, "causes") if isinstance(each, dict)]
        for index, told in enumerate(_items(raw, "fixes")):
            fix = told.get("fix") if isinstance(told, dict) else None
            for cause in causes if isinstance(fix, str) else ():
                edge = ("cause", str(cause)), ("fix", str(fix))
                if not graph.has_edge(*edge):
                    graph.add_nodes_from((n for n in edge if n not in graph), unknown=True)
                    owner, route = ("defect", name), ("fixes", index, "fix")
                    graph.add_edge(*edge, owner=owner, route=route, often=None, faults=[name])


def build_prerequisite_graph(library: Library) -> Graph:
    """Build the graph that runs from each lesson to the lessons that need it.

    Args:
        library: The course.

    Returns:
        A directed graph of `("lesson", id)` nodes; edges carry `owner` and `route`.
    """
    import networkx as nx

    graph: Graph = nx.DiGraph()
    lessons = library.lessons
    graph.add_nodes_from(("lesson", name) for name in lessons)
    broken = sorted(name for kind, name in library.broken if kind == "lesson" and name != "*")
    graph.add_nodes_from((("lesson", name) for name in broken), broken=True)
    for name, lesson in lessons.items():
        for index, needed in enumerate(lesson.prerequisites):
            _connect(graph, ("lesson", name), ("lesson", needed), False, ("prerequisites", index))
    for name in broken:
        for index, needed in enumerate(_items(_read_raw(library, "lesson", name), "prerequisites")):
            if isinstance(needed, str):
                route = ("prerequisites", index)
                _connect(graph, ("lesson", name), ("lesson", needed), False, route)
    return graph


def _connect(
    graph: Graph, owner: Node, other: Node, forward: bool, route: Route, often: float | None = None
) -> None:
    if not graph.has_node(other):
        graph.add_node(other, unknown=True)
    start, end = (owner, other) if forward else (other, owner)
    if not graph.has_edge(start, end):
        graph.add_edge(start, end, owner=owner, route=route, often=often)


def _often(link: Any) -> float:
    return float(link.helps if hasattr(link, "helps") else link.often)


def _read_raw(library: Library, kind: str, name: str) -> Any:
    """Give the plain values of an entry that could not be typed, or None."""
    source = library.sources.get((kind, name))
    if source is None:
        return None
    value = source.document.value
    for part in source.route:
        value = value.get(part) if isinstance(value, dict) else None
    return value


def _items(raw: Any, field: str) -> list[Any]:
    items = raw.get(field) if isinstance(raw, dict) else None
    return items if isinstance(items, list) else []


def find_draft_owners(library: Library) -> dict[Node, Node]:
    """Find which drafts would lead to a cause or fix if they were drafts no longer.

    Args:
        library: The course.

    Returns:
        The cause or fix to the first draft, by id, that names it.
    """
    owners: dict[Node, Node] = {}
    for kind, name in sorted(library.drafts):
        raw = _read_raw(library, kind, name)
        for field, key, other, forward in _DECLARED.get(kind, ()):
            for told in _items(raw, field) if forward else ():
                if isinstance(told, dict) and isinstance(told.get(key), str):
                    owners.setdefault((other, told[key]), (kind, name))
    return owners


def find_reachable(graph: Graph, starts: Iterable[Node]) -> frozenset[Node]:
    """Find every node that can be reached from the given ones, themselves included."""
    seen = {node for node in starts if graph.has_node(node)}
    waiting = list(seen)
    while waiting:
        for after in graph.successors(waiting.pop()):
            if after not in seen:
                seen.add(after)
                waiting.append(after)
    return frozenset(seen)


@dataclass(frozen=True, slots=True)
class Gap:
    """Where the chain of causes that should lead to a node breaks.

    Args:
        chain: What does hold together, from the top of the broken piece down to the node asked
            for.
        missing: Kind of the entry that should lead to `chain[0]` and does not; one edge from such
            an entry, which a symptom leads to, mends the chain.
    """

    chain: tuple[Node, ...]
    missing: str


def find_gap(graph: Graph, node: Node, reachable: frozenset[Node] | None = None) -> Gap | None:
    """Find the shortest mend for a node of the cause-and-fix graph that no symptom leads to.

    Args:
        graph: What `build_cause_graph` returns.
        node: A defect, cause or fix.
        reachable: What the symptoms lead to, where the caller has it already.

    Returns:
        None where a symptom does lead to the node. Otherwise the gap nearest to a symptom: one edge
        into `chain[0]` is all that is missing.
    """
    if reachable is None:
        reachable = find_reachable(graph, (each for each in graph if each[0] == CHAIN[0]))
    if node in reachable:
        return None
    # Walk up towards the symptoms; the highest ancestor is where the fewest edges are missing.
    below: dict[Node, Node | None] = {node: None}
    layer = [node]
    highest = node
    while layer:
        found: list[Node] = []
        for each in layer:
            for before in sorted(graph.predecessors(each)):
                if before not in below:
                    below[before] = each
                    found.append(before)
        layer = found
        if found:
            highest = min(found)
    chain: list[Node] = []
    step: Node | None = highest
    while step is not None:
        chain.append(step)
        step = below[step]
    missing = CHAIN[CHAIN.index(highest[0]) - 1]
    return Gap(tuple(chain), missing)


def find_circles(graph: Graph) -> tuple[tuple[Node, ...], ...]:
    """Find circles: for each knot of nodes that lead to one another, one shortest circle.

    Args:
        graph: Any directed graph, as a rule the prerequisite graph.

    Returns:
        Circles as node sequences that begin with their smallest node and do not repeat it, sorted.
    """
    import networkx as nx

    circles: list[tuple[Node, ...]] = []
    for knot in nx.strongly_connected_components(graph):
        if len(knot) == 1:
            (only,) = knot
            if graph.has_edge(only, only):
                circles.append((only,))
            continue
        start = min(knot)
        inside = graph.subgraph(knot)
        # The way back from each successor; the shortest closes the circle.
        back = nx.shortest_path(inside, target=start)
        ways = [back[after] for after in inside.successors(start)]
        way = min(ways, key=lambda each: (len(each), each))
        circles.append((start, *way[:-1]))
    return tuple(sorted(circles))


def find_knots(graph: Graph) -> frozenset[Node]:
    """Find every node that lies on some circle."""
    import networkx as nx

    return frozenset(
        node
        for knot in nx.strongly_connected_components(graph)
        for node in knot
        if len(knot) > 1 or graph.has_edge(node, node)
    )


def find_breaking_edge(
    graph: Graph, circle: tuple[Node, ...], library: Library
) -> tuple[Node, Node]:
    """Choose the edge whose removal breaks a circle of lessons with the least harm.

    The edge from the most advanced lesson to the least advanced one is the likeliest slip; between
    equals, the one that closes the circle as printed.

    Args:
        graph: The prerequisite graph.
        circle: One of `find_circles`.
        library: Knows the lessons' levels.

    Returns:
        The edge `(prerequisite, lesson)`.
    """
    lessons = library.lessons

    def rank(node: Node) -> int:
        lesson = lessons.get(node[1])
        return lesson.level.rank if lesson else 0

    edges = [(circle[i], circle[(i + 1) % len(circle)]) for i in range(len(circle))]
    return max(reversed(edges), key=lambda edge: rank(edge[0]) - rank(edge[1]))


def _lesson_order(lesson: Lesson | None, name: str) -> tuple[int, str]:
    return (lesson.level.rank if lesson else len(Level), name)


def order_lessons(library: Library, graph: Graph | None = None) -> tuple[str, ...]:
    """Put the lessons in an order in which each comes after all it needs.

    A lexicographical topological order: among lessons that could come next, the one of the earlier
    level, then the smaller id, so that the order never depends on the order of files. Lessons of a
    circle, for which no order exists, come as soon as their turn by level and id allows.

    Args:
        library: The course.
        graph: Its prerequisite graph, where the caller has it already.

    Returns:
        Ids of all typed lessons.
    """
    graph = build_prerequisite_graph(library) if graph is None else graph
    lessons = library.lessons
    knots = _knot_of(graph)
    waiting_for = {
        node: sum(1 for before in graph.predecessors(node) if knots[before] != knots[node])
        for node in graph
    }
    ready = [
        (*_lesson_order(lessons.get(node[1]), node[1]), node)
        for node, count in waiting_for.items()
        if count == 0
    ]
    heapq.heapify(ready)
    ordered: list[str] = []
    while ready:
        *_, node = heapq.heappop(ready)
        if node[1] in lessons:
            ordered.append(node[1])
        for after in graph.successors(node):
            if knots[after] == knots[node]:
                continue
            waiting_for[after] -= 1
            if waiting_for[after] == 0:
                heapq.heappush(ready, (*_lesson_order(lessons.get(after[1]), after[1]), after))
    return tuple(ordered)


def _knot_of(graph: Graph) -> dict[Node, int]:
    """Number the knots (strongly connected components), one number a node."""
    import networkx as nx

    return {
        node: number
        for number, knot in enumerate(nx.strongly_connected_components(graph))
        for node in knot
    }


@dataclass(frozen=True, slots=True)
class Ancestry:
    """Who comes before whom in a graph, for all nodes at once.

    Sets are whole numbers with one bit a node, so that thousands of lessons in a row stay cheap.

    Args:
        number: Each node's bit.
        before: For each node, the set of nodes from which it can be reached.
    """

    number: Mapping[Node, int]
    before: Mapping[Node, int]

    def mask(self, nodes: Iterable[Node]) -> int:
        """Make a set of nodes; nodes that the graph does not have are left out."""
        found = 0
        for node in nodes:
            if node in self.number:
                found |= 1 << self.number[node]
        return found

    def comes_before(self, first: Node, second: Node) -> bool:
        """Say whether the second node can be reached from the first."""
        bit = self.number.get(first)
        return bit is not None and bool(self.before.get(second, 0) >> bit & 1)


def find_ancestry(graph: Graph) -> Ancestry:
    """Find out for every node what comes before it.

    Args:
        graph: As a rule the prerequisite graph; circles are allowed.
    """
    import networkx as nx

    number = {node: place for place, node in enumerate(graph)}
    before: dict[Node, int] = {}
    whole = nx.condensation(graph)
    for knot in nx.topological_sort(whole):
        members = whole.nodes[knot]["members"]
        found = 0
        for node in members:
            for each in graph.predecessors(node):
                found |= 1 << number[each]
                found |= before.get(each, 0)
        for node in members:
            before[node] = found
    return Ancestry(number, before)


def find_takeable(graph: Graph) -> frozenset[Node]:
    """Find the lessons that a student can come to: all their prerequisites can be come to as well.

    Args:
        graph: The prerequisite graph.

    Returns:
        Every node that stands neither on a circle nor behind one.
    """
    waiting_for = dict(graph.in_degree())
    ready = [node for node, count in waiting_for.items() if count == 0]
    taken: set[Node] = set()
    while ready:
        node = ready.pop()
        taken.add(node)
        for after in graph.successors(node):
            waiting_for[after] -= 1
            if waiting_for[after] == 0:
                ready.append(after)
    return frozenset(taken)
