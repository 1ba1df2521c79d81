"""Any project: nobody starts too soon, nothing is held twice, no order beats the bound."""

from __future__ import annotations

from itertools import pairwise, permutations
from math import ceil

from hypothesis import given
from hypothesis import strategies as st

from builder.planning.schedule import Room, Task, Use, place_tasks


@st.composite
def draw_project(draw: st.DrawFn) -> tuple[list[Task], dict[str, int]]:
    capacities = {"one": draw(st.integers(1, 2)), "two": draw(st.integers(1, 3))}
    tasks: list[Task] = []
    for number in range(draw(st.integers(1, 7))):
        length = draw(st.integers(1, 9))
        uses = []
        for name in draw(st.lists(st.sampled_from(("one", "two")), unique=True)):
            after = draw(st.integers(0, length - 1))
            uses.append(Use(name, after, draw(st.integers(1, length - after))))
        earlier = st.lists(st.integers(0, number - 1), unique=True, max_size=2)
        needs = draw(earlier) if number else []
        waits = tuple((each, draw(st.integers(0, 5))) for each in needs)
        tasks.append(Task(number, length, tuple(uses), waits))
    return tasks, capacities


@given(draw_project())
def test_nobody_starts_too_soon_and_nothing_is_held_twice(
    project: tuple[list[Task], dict[str, int]],
) -> None:
    tasks, capacities = project
    found = place_tasks(tasks, Room(capacities))
    assert set(found.placed) == {task.id for task in tasks}
    held: dict[tuple[str, int], list[tuple[int, int]]] = {}
    for each in found.placed.values():
        for name, wait in each.task.needs:
            assert each.start >= found.placed[name].end + wait
        for use, unit in zip(each.task.uses, each.units, strict=True):
            assert 0 <= unit < capacities[use.resource]
            start = each.start + use.after
            held.setdefault((use.resource, unit), []).append((start, start + use.length))
    for turns in held.values():
        turns.sort()
        assert all(one[1] <= two[0] for one, two in pairwise(turns))
    assert found.makespan == max(each.end for each in found.placed.values())
    assert found.at_least <= found.makespan
    assert place_tasks(tasks, Room(capacities)) == found


@given(st.lists(st.integers(1, 9), min_size=1, max_size=5))
def test_no_order_of_one_machine_beats_the_bound(runs: list[int]) -> None:
    tasks = [Task(n, run, (Use("m", 0, run),)) for n, run in enumerate(runs)]
    assert place_tasks(tasks, Room({"m": 1})).makespan == sum(runs)
    two = place_tasks(tasks, Room({"m": 2}))
    best = min(
        max(sum(order[:cut]), sum(order[cut:]))
        for order in permutations(runs)
        for cut in range(len(runs) + 1)
    )
    assert ceil(sum(runs) / 2) <= two.at_least <= best == two.makespan
