"""What the cause-and-fix graph on a defect's page shows."""

from __future__ import annotations

from collections.abc import Sequence

from builder.drawings.cause_graph import CauseGraph, Label, Node
from builder.model import Defect, When
from builder.pages.maker import PageMaker


def view_cause_graph(
    maker: PageMaker, defect: Defect, address: str, causes: Sequence[str] = ()
) -> CauseGraph:
    """Gather the signs, causes and fixes of a defect.

    Args:
        maker: Makes the page.
        defect: The defect.
        address: Address of the page that holds the drawing.
        causes: Ids of its causes, the likeliest first; () keeps the author's order.
    """
    library, graph, prose = maker.library, maker.course.cause_graph, maker.prose(address)
    centre: Node = ("defect", defect.id)
    ranks = {name: index for index, name in enumerate(causes)}
    signs = sorted(
        graph.predecessors(centre), key=lambda node: (-graph.edges[node, centre]["often"], node)
    )
    reasons = sorted(
        graph.successors(centre), key=lambda node: (ranks.get(node[1], len(ranks)), node)
    )
    edges = [(sign, centre) for sign in signs] + [(centre, reason) for reason in reasons]
    edges += [
        (reason, mend)
        for reason in reasons
        for mend in sorted(graph.successors(reason))
        # A rescue from another fault of this cause is none from this one.
        if defect.id in graph.edges[reason, mend].get("faults", (defect.id,))
    ]
    mends = dict.fromkeys(right for left, right in edges if left in set(reasons))
    tags = {
        When.NOW: maker.words.text("graph.now", thing=maker.settings.thing.one),
        When.NEXT: maker.words.text("graph.next"),
    }

    def label(node: Node, tag: str = "") -> Label:
        kind, name = node
        entry = getattr(library.entries[kind][name], "name", name)
        return Label(node, str(entry), tag, href=prose.link(kind, name))

    picture = str(maker.drawing(defect.picture or defect.id, ""))
    return CauseGraph(
        defect.name,
        (
            tuple(label(node) for node in signs),
            (Label(centre, defect.name, pictured=bool(picture)),),
            tuple(label(node) for node in reasons),
            tuple(label(node, tags[library.fixes[node[1]].when]) for node in mends),
        ),
        {(left, right): graph.edges[left, right]["often"] for left, right in edges},
        picture,
    )
