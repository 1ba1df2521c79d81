"""The actions of a step in time: when each begins within the step, and how long it takes.

Actions follow each other in the order they are written. One that states a time takes it, and where
its tool needs handling, that as well; the others share what is left of the step's time. What takes
longer than the step itself, such as an hour's heating in a step of ten minutes, is begun in its
place and runs on while the lesson waits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from builder.model import Action, Step


@dataclass(frozen=True, slots=True)
class Span:
    """When an action is done, in seconds from the start of its step.

    Args:
        start: When it begins.
        end: When it is over; later than the step where it runs on.
        held: Until when its tool is taken.
    """

    start: int
    end: int
    held: int


def lay_out_actions(step: Step, handling: Sequence[int]) -> tuple[Span, ...]:
    """Lay out the actions of a step.

    Args:
        step: The step.
        handling: For each action, how many seconds it takes to handle its tool.
    """
    bench = round(step.time.base)
    wait = round(step.wait.base) if step.wait else 0
    timed = {n: round(each.time.base) for n, each in enumerate(step.actions) if each.time}
    running = _find_running_on(timed, bench)
    attended = {n: length for n, length in timed.items() if n not in running}
    left = bench - sum(attended.values())
    wanted = {n: handling[n] for n in attended}
    untimed = [n for n in range(len(step.actions)) if n not in timed]
    # Handling never takes more than half of what the other actions need as well.
    most = left // 2 if untimed else left
    total = sum(wanted.values())
    given = {n: each if total <= most else each * most // total for n, each in wanted.items()}
    left -= sum(given.values())
    spans: list[Span] = []
    clock, share = 0, 0
    for number, action in enumerate(step.actions):
        if number in running:
            length, slot = timed[number], 0
            end = clock + length
            held = end + handling[number]
        elif number in attended:
            length = attended[number]
            slot = length + given[number]
            end, held = clock + length, clock + slot
        else:
            share += 1
            slot = left * share // len(untimed) - left * (share - 1) // len(untimed)
            end = held = clock + slot
        if action.keeps:
            held = max(held, bench + wait)
        spans.append(Span(clock, end, held))
        clock += slot
    return tuple(spans)


def _find_running_on(timed: dict[int, int], bench: int) -> frozenset[int]:
    """Find the actions that run on: the longest, until the others fit into the step."""
    running: list[int] = []
    for number in sorted(timed, key=lambda n: (-timed[n], n)):
        if sum(timed.values()) - sum(timed[n] for n in running) <= bench:
            break
        running.append(number)
    return frozenset(running)


def find_heating_end(action: Action, span: Span) -> int:
    """Give when an action that heats has stopped heating; one that keeps its tool goes on."""
    return span.held if action.keeps else span.end
