"""Another craft: one kiln that is busy for nine hours and takes eight pieces at once."""

from __future__ import annotations

from datetime import datetime

from builder.planning.how_many import count_how_many
from builder.planning.kit import join_kits, list_kits
from builder.planning.sessions import ClassRun, plan_sessions
from tests.helpers import complete, make_library

TILES = """
# file: lessons/course.yml
room: 20 degC
resources:
  - {{id: kiln, name: Kiln, count: 1, capacity: 8, together: true, unattended: true}}
# file: kb/tools.yml
big-kiln: {{resource: kiln, heats: true}}
tray: {{}}
# file: kb/cautions.yml
heat: {{applies: {{hazards: [hot]}}}}
# file: lessons/tile.yml
tools: [{{tool: big-kiln, per: class}}, {{tool: tray}}]
vessels: {{tray: tray}}
steps:
  - title: Form the tile
    time: 30 min
    wait: 25 min
    actions: [{{do: stir, vessel: tray}}]
  - title: Fire it
    time: 10 min
    wait: 9 h
    actions: [{{do: heat, vessel: tile, tool: big-kiln, keeps: true}}]
  - title: Glaze it
    time: 15 min
# file: lessons/classes/autumn.yml
students: {students}
sessions:
  - {{date: 2030-09-02, start: "10:00", length: 2 h, lessons: [tile]}}
  - {{date: {second}, start: "10:00", length: 1 h, lessons: [tile]}}
"""


def plan(students: int, second: str = "2030-09-03") -> ClassRun:
    written = TILES.format(students=students, second=second)
    library, findings = make_library(complete(written.lstrip()))
    assert not findings
    return plan_sessions(library, library.classes["autumn"])


def test_eight_pieces_are_one_firing() -> None:
    """Formed by 10:30, dry at 10:55, loaded until 11:05, ready at 20:05."""
    first, second = plan(8).sessions
    fired = [turn for turn in first.turns if turn.step == 1]
    assert {turn.group for turn in fired} == {tuple(range(1, 9))}
    assert {(turn.start, turn.end) for turn in fired} == {(55 * 60, 65 * 60)}
    (hold,) = {turn.holds[0] for turn in fired}
    assert (hold.shared, hold.unit, hold.end) == ("kiln", 1, 65 * 60 + 9 * 3600)
    assert first.left == (("tile", 2),)
    assert second.brought == (("tile", 2),)
    (waiting,) = first.waiting
    assert waiting.until == datetime(2030, 9, 2, 20, 5)


def test_twelve_pieces_are_two_firings_one_after_the_other() -> None:
    """Six each: the second is loaded when the first comes out, by whoever keeps the room."""
    run = plan(12)
    one, two = run.sessions[0].between
    assert [len(each.students) for each in (one, two)] == [6, 6]
    assert one.start == datetime(2030, 9, 2, 10, 55)
    assert two.start == one.end == datetime(2030, 9, 2, 20, 5)
    assert two.end == datetime(2030, 9, 3, 5, 15)
    assert run.sessions[1].brought == (("tile", 2),)


def test_nobody_takes_out_what_still_fires() -> None:
    """On the same day the second session ends at 16:00, four hours before the kiln is done."""
    run = plan(8, "2030-09-02").sessions  # begins at 10:00 as well: out of order
    assert run[0].left == (("tile", 2),)
    later = TILES.replace('start: "10:00", length: 1 h', 'start: "15:00", length: 1 h')
    library, _ = make_library(complete(later.format(students=8, second="2030-09-02").lstrip()))
    run_late = plan_sessions(library, library.classes["autumn"])
    assert ("tile", 2) not in run_late.sessions[1].brought
    assert {each.session for each in run_late.unmet} == {None}
    assert run_late.unmet[0].until == datetime(2030, 9, 2, 20, 5)


def test_kit_and_how_many() -> None:
    run = plan(12)
    library, _ = make_library(complete(TILES.format(students=12, second="2030-09-03").lstrip()))
    kit = {item.tool.id: item.count for item in join_kits(list_kits(library, run.sessions, 12))}
    assert kit["tray"] == 24, "a tray for each tile, the first twelve not emptied before the second"
    assert all(1 <= count <= 4 for row in count_how_many(library, run) for count in row.ends)
