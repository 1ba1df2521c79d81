"""Placing tasks on shared equipment, against published and exhaustively solved problems.

Sources stand beside each check. "Exhaustive" means that every order was tried.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from builder.planning.schedule import Room, Schedule, Task, Use, place_tasks


def three(name: str, ready: int, run: int, tail: int) -> list[Task]:
    """Give a job that is ready after a time, runs on the one machine, and then lies for a time."""
    return [
        Task((name, "ready"), ready),
        Task((name, "run"), run, (Use("machine", 0, run),), (((name, "ready"), 0),)),
        Task((name, "tail"), tail, (), (((name, "run"), 0),)),
    ]


def solve(jobs: dict[str, tuple[int, int, int]]) -> Schedule:
    tasks = [task for name, times in jobs.items() for task in three(name, *times)]
    return place_tasks(tasks, Room({"machine": 1}))


def order_of(found: Schedule, names: str, part: str = "run") -> str:
    return "".join(sorted(names, key=lambda name: found.placed[name, part].start))


def test_three_batches_and_one_machine() -> None:
    """Exhaustive: 66, third batch first, then the first; in the order given 84, at worst 87."""
    found = solve({"1": (5, 6, 45), "2": (8, 9, 30), "3": (2, 4, 60)})
    assert found.makespan == found.at_least == 66
    assert order_of(found, "123") == "312"


def test_one_machine_with_ready_times_and_tails() -> None:
    """J. Carlier 1982, figures from memory; 50 proved best by all 5040 orders.

    Taking the longest tail first at each step gives 53.
    """
    times = [
        *((10, 5, 7), (13, 6, 26), (11, 7, 24), (20, 4, 21)),
        *((30, 3, 8), (0, 6, 17), (30, 2, 0)),
    ]
    found = solve({str(number): each for number, each in enumerate(times)})
    assert found.makespan == 50


def test_two_machines_in_series() -> None:
    """Johnson's rule: 35, proved best over all 120 orders (15 of them reach it)."""
    times = {"A": (5, 8), "B": (3, 9), "C": (8, 7), "D": (7, 2), "E": (4, 6)}
    tasks = []
    for name, (first, second) in times.items():
        tasks.append(Task((name, 1), first, (Use("one", 0, first),)))
        tasks.append(Task((name, 2), second, (Use("two", 0, second),), (((name, 1), 0),)))
    found = place_tasks(tasks, Room({"one": 1, "two": 1}))
    assert found.makespan == 35


def test_a_shared_machine_costs_time() -> None:
    """Exhaustive: the critical path alone is 8; with A, B and C on one machine 14."""
    needs = {"D": "A", "E": "B", "F": "CDE"}
    lengths = {"A": 4, "B": 3, "C": 5, "D": 2, "E": 3, "F": 2}
    tasks = [
        Task(
            name,
            length,
            (Use("machine", 0, length),) if name in "ABC" else (),
            tuple((each, 0) for each in needs.get(name, "")),
        )
        for name, length in lengths.items()
    ]
    assert place_tasks(tasks, Room({"machine": 3})).makespan == 8
    assert place_tasks(tasks, Room({"machine": 1})).makespan == 14


def test_two_machines_side_by_side() -> None:
    """Jobs 3 3 2 2 2 on two machines: longest first gives 7, the best is 6 (R. Graham 1969)."""
    tasks = [Task(n, run, (Use("machine", 0, run),)) for n, run in enumerate((3, 3, 2, 2, 2))]
    found = place_tasks(tasks, Room({"machine": 2}))
    assert found.makespan == found.at_least == 6


CRITICAL = {
    # Heizer and Render's textbook, figures from memory: 15.
    15: "A2, B3, C2(A), D4(A B), E4(C), F3(C), G5(D E), H2(F G)",
    # Every path critical: 18.
    18: "A7, B5, C3(A), D5(B), E4(C), F4(C D), G3(E F), H1(G)",
    # A maintenance job: 34.
    34: "A3, B4(A), C5(B), D3(B), E7(B), F9(C), G8(C), H2(F G), I4(D E H), J7(I)",
}


@pytest.mark.parametrize("makespan", CRITICAL)
def test_without_shared_equipment_the_longest_chain_decides(makespan: int) -> None:
    tasks = []
    for written in CRITICAL[makespan].split(", "):
        name, _, rest = written.partition("(")
        needs = tuple((each, 0) for each in rest.strip(")").split())
        tasks.append(Task(name[0], int(name[1:]), (), needs))
    found = place_tasks(tasks, Room({}))
    assert found.makespan == found.at_least == makespan


def test_a_wait_holds_the_next_task_but_nobody() -> None:
    tasks = [
        Task("pour", 5, (Use("student", 0, 5),)),
        Task("press", 3, (Use("student", 0, 3),), (("pour", 60),)),
        Task("other", 20, (Use("student", 0, 20),), (("pour", 0),)),
    ]
    found = place_tasks(tasks, Room({"student": 1}))
    assert found.placed["press"].start == 65
    assert found.placed["other"].start == 5


def test_a_task_keeps_its_turns_at_their_distance() -> None:
    """Two turns 10 apart, four people, one oven: nobody's second turn may slip."""
    uses = (Use("oven", 0, 5), Use("oven", 10, 5))
    found = place_tasks([Task(n, 15, uses) for n in range(4)], Room({"oven": 1}))
    turns = sorted(
        (each.start + use.after, each.start + use.after + use.length)
        for each in found.placed.values()
        for use in each.task.uses
    )
    assert all(end <= start for (_, end), (start, _) in pairwise(turns))
    assert found.makespan == found.at_least == 40


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="stands before"):
        place_tasks([Task("b", 1, (), (("a", 0),)), Task("a", 1)], Room({}))
    with pytest.raises(ValueError, match="there is none"):
        place_tasks([Task("a", 1, (Use("oven", 0, 1),))], Room({"oven": 0}))
    assert place_tasks([], Room({"oven": 1})).makespan == 0
