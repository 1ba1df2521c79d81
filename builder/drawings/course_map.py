"""The course map: every lesson a box, every prerequisite a line, each level its own rows.

The boxes are HTML links, placed by their share of the width, so that one drawing fits a phone, a
wide screen and paper, and grows with the reader's type. Lines lie behind them as SVG. A
prerequisite that already follows from another is not drawn (transitive reduction); it is still in
the words that go with each box.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from builder.drawings.layered_layout import Bend, Layering, order_rows, place_rows
from builder.model import Lesson, Level

if TYPE_CHECKING:
    from builder.graph import Graph

MOST_LESSONS = 60
"""A course with more lessons has no map: it could not be read."""
MOST_ACROSS = 3
"""Boxes in a row, so that the words in them can be read on a phone."""

WIDTH = 1000.0
BEND = 0.3
"""Room a line takes beside boxes, as a share of a box's."""
GAP = 36.0
ROW, NODE, HEAD = 98.0, 66.0, 40.0
"""Height of a row, of a box in it, and of a level's heading, in sixteenths of an em."""


@dataclass(frozen=True, slots=True)
class MapNode:
    """A lesson on the map: the middle of its box in percent of the width, its top in units."""

    lesson: Lesson
    across: float
    top: float
    needs: tuple[Lesson, ...]


@dataclass(frozen=True, slots=True)
class MapBand:
    """The rows of a level: top and height in units."""

    name: str
    top: float
    height: float


@dataclass(frozen=True, slots=True)
class CourseMap:
    """The finished layout.

    Args:
        nodes: Lessons in the order in which they are taught.
        bands: Levels from the top.
        paths: SVG path data of the lines, in a view box of `WIDTH` by `height`.
        height: In units.
        node_width: Of a box, in percent of the width.
        crossings: How many lines cross.
    """

    nodes: tuple[MapNode, ...]
    bands: tuple[MapBand, ...]
    paths: tuple[str, ...]
    height: float
    node_width: float
    crossings: int


def make_course_map(
    lessons: Mapping[str, Lesson], graph: Graph, order: Sequence[str]
) -> CourseMap | None:
    """Lay out the map of a course; None where it has one lesson or too many.

    Args:
        lessons: Its lessons by id; prerequisites run in no circle and never to a later level.
        graph: What each lesson needs, as `build_prerequisite_graph` makes it.
        order: Ids of the lessons in the order of the course.
    """
    import networkx as nx

    if not 2 <= len(lessons) <= MOST_LESSONS:
        return None
    needs = {
        name: tuple(before[1] for before in graph.predecessors(("lesson", name))) for name in order
    }
    rows, levels = _fill_rows([lessons[name] for name in order], needs)
    reduced = nx.transitive_reduction(graph)
    rank = {name: number for number, name in enumerate(order)}
    edges = sorted(
        ((start[1], end[1]) for start, end in reduced.edges),
        key=lambda edge: (rank[edge[0]], rank[edge[1]]),
    )
    return _measure(order_rows(rows, edges), levels, lessons, order, needs)


def _fill_rows(
    lessons: Sequence[Lesson], needs: dict[str, tuple[str, ...]]
) -> tuple[list[list[str]], list[Level]]:
    """Put each lesson in the first row below all it needs that belongs to its level and has room.

    A list schedule in teaching order, after E. G. Coffman and R. L. Graham, "Optimal scheduling for
    two-processor systems" (1972).
    """
    rows: list[list[str]] = []
    levels: list[Level] = []
    row_of: dict[str, int] = {}
    for level in Level:
        first = len(rows)
        for lesson in (each for each in lessons if each.level is level):
            row = max((row_of[before] + 1 for before in needs[lesson.id]), default=first)
            row = max(row, first)
            while row < len(rows) and len(rows[row]) >= MOST_ACROSS:
                row += 1
            while row >= len(rows):
                rows.append([])
                levels.append(level)
            rows[row].append(lesson.id)
            row_of[lesson.id] = row
    return rows, levels


def _measure(
    layering: Layering,
    levels: Sequence[Level],
    lessons: Mapping[str, Lesson],
    order: Sequence[str],
    needs: Mapping[str, tuple[str, ...]],
) -> CourseMap:
    rows = layering.rows
    across = max(sum(BEND if isinstance(spot, Bend) else 1.0 for spot in row) for row in rows)
    room = WIDTH / max(across, 2.0)
    places = place_rows(layering, WIDTH, room, room * BEND)
    row_of = {spot: number for number, row in enumerate(rows) for spot in row}
    tops: list[float] = []
    bands: list[MapBand] = []
    top = 0.0
    for number, level in enumerate(levels):
        if number == 0 or level is not levels[number - 1]:
            bands.append(MapBand(level.value, top, 0.0))
            top += HEAD
        tops.append(top)
        top += ROW
        bands[-1] = MapBand(bands[-1].name, bands[-1].top, top - bands[-1].top - 10)
    nodes = tuple(
        MapNode(
            lessons[name],
            places[name] / WIDTH * 100,
            tops[row_of[name]],
            tuple(lessons[before] for before in order if before in needs[name]),
        )
        for name in order
    )
    paths = tuple(
        _draw_path([(places[spot], tops[row_of[spot]]) for spot in way])
        for way in layering.paths.values()
    )
    width = (room - GAP) / WIDTH * 100
    return CourseMap(nodes, tuple(bands), paths, top, width, layering.crossings)


def _draw_path(points: Sequence[tuple[float, float]]) -> str:
    x, y = points[0][0], points[0][1] + NODE
    text = f"M{x:.1f} {y:.1f}"
    for number, (next_x, next_y) in enumerate(points[1:], 2):
        middle = (y + next_y) / 2
        text += f"C{x:.1f} {middle:.1f} {next_x:.1f} {middle:.1f} {next_x:.1f} {next_y:.1f}"
        x, y = next_x, next_y
        if number < len(points):  # a bend goes straight down beside the boxes of its row
            y += NODE
            text += f"V{y:.1f}"
    return text
