"""The same scheduling model given to OR-Tools CP-SAT: its best plan and its bound.

Development only. Nothing of the planner's own placing is used: tasks, uses, waits, marks and the
moment of closing are stated as constraints, and a solver of another kind looks for the least end.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from ortools.sat.python import cp_model

from builder.planning.schedule import Room, Task


def solve_tasks(
    tasks: Sequence[Task], room: Room, seconds: float, hint: Any = None
) -> tuple[int | None, int, bool]:
    """Give the least end that CP-SAT found, its bound, and whether it proved it best."""
    horizon = sum(task.length for task in tasks) + max((task.ready for task in tasks), default=0)
    horizon += sum(wait for task in tasks for _, wait in task.needs)
    horizon = min(horizon, hint.makespan if hint is not None else horizon)
    model = cp_model.CpModel()
    start = {task.id: model.new_int_var(task.ready, horizon, "") for task in tasks}
    length = {task.id: task.length for task in tasks}
    end = model.new_int_var(0, horizon, "end")
    used: dict[str, list[Any]] = defaultdict(list)
    marked: dict[str, list[tuple[Any, Any, Any]]] = defaultdict(list)
    closing = model.new_int_var(0, horizon, "closing")
    closed = any(task.closes is not None for task in tasks)
    for task in tasks:
        begin = start[task.id]
        model.add(end >= begin + task.length)
        for needed, wait in task.needs:
            model.add(begin >= start[needed] + length[needed] + wait)
        for use in task.uses:
            if use.length:
                used[use.resource].append(
                    model.new_fixed_size_interval_var(begin + use.after, use.length, "")
                )
        for mark in task.marks:
            marked[mark.kind].append((task.id, begin + mark.after, mark.length))
            if closed and mark.kind in room.closed:
                model.add(begin + mark.after + mark.length <= closing)
        if task.closes is not None:
            model.add(begin + task.closes >= closing)
    for name, intervals in used.items():
        for until in room.busy.get(name, ()):
            if until > 0:
                intervals.append(model.new_fixed_size_interval_var(0, until, ""))
        if room.capacities[name] == 1:
            model.add_no_overlap(intervals)
        else:
            model.add_cumulative(intervals, [1] * len(intervals), room.capacities[name])
    for kind, others in room.apart.items():
        for other in others:
            if kind < other:
                _keep_apart(model, marked[kind], marked[other])
    model.minimize(end)
    if hint is not None:
        for task in tasks:
            model.add_hint(start[task.id], hint.placed[task.id].start)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    best = round(solver.objective_value) if found else None
    return best, round(solver.best_objective_bound), status == cp_model.OPTIMAL


def _keep_apart(model: Any, ones: Sequence[Any], twos: Sequence[Any]) -> None:
    for first, begin, lasts in ones:
        for second, other, takes in twos:
            if first == second:
                continue
            before = model.new_bool_var("")
            model.add(begin + lasts <= other).only_enforce_if(before)
            model.add(other + takes <= begin).only_enforce_if(~before)
