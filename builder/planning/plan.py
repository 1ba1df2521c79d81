"""The plan of a class: its sessions, who does what when, what it uses up and costs, its kit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from builder.library import Library
from builder.model import PlannedClass
from builder.planning.how_many import Scarce
from builder.planning.kit import KitItem, join_kits, list_kits
from builder.planning.needs import (
    CountedNeed,
    Need,
    list_counted,
    list_lessons,
    list_needs,
    sum_prices,
)
from builder.planning.sessions import ClassRun, SessionPlan
from builder.planning.telling import name_steps
from builder.planning.words import write_clock, write_date, write_price
from builder.units import Quantity


@dataclass(frozen=True, slots=True)
class ClassPlan:
    """What a teacher prepares a class by.

    Args:
        planned: The class.
        run: The run of it, session by session.
        needs: What is used up, by name.
        counted: What is used up and counted, by name.
        kits: What must be there in each session, by name.
        things: How many things the class makes.
        currency: Code of all prices.
    """

    planned: PlannedClass
    run: ClassRun
    needs: tuple[Need, ...]
    counted: tuple[CountedNeed, ...]
    things: int
    kits: tuple[tuple[KitItem, ...], ...]
    currency: str

    @property
    def session_plans(self) -> tuple[SessionPlan, ...]:
        """The run of each session."""
        return self.run.sessions

    @property
    def kit(self) -> tuple[KitItem, ...]:
        """What must be there for the whole class, by name."""
        return join_kits(self.kits)

    @property
    def to_buy(self) -> float:
        """Price of all packs."""
        return sum_prices(
            [need.price for need in self.needs] + [need.price for need in self.counted]
        )

    @property
    def used(self) -> float:
        """Price of what is used of them."""
        return sum_prices([need.used for need in self.needs] + [need.used for need in self.counted])


def plan_class(
    library: Library,
    planned: PlannedClass,
    run: ClassRun,
    currency: str,
    stock: Mapping[str, Quantity] | None = None,
) -> ClassPlan:
    """Plan a class.

    Args:
        library: A course without errors.
        planned: One of its classes.
        run: The run of its sessions, from `plan_sessions`.
        currency: Code of all prices.
        stock: What is in the cupboard, by id of the material.
    """
    return ClassPlan(
        planned,
        run,
        tuple(list_needs(library, planned, stock)),
        tuple(list_counted(library, planned)),
        planned.students * sum(lesson.makes for lesson in list_lessons(library, planned)),
        list_kits(library, run.sessions, planned.students),
        currency,
    )


def describe_plan(
    library: Library, plan: ClassPlan, scarce: Sequence[Scarce] = ()
) -> dict[str, Any]:
    """Give a plan in the shape that programs read; times of day are local, lengths in minutes."""
    return {
        "how_many": [
            {
                "equipment": row.shared,
                "name": row.name,
                "there": row.there,
                "minutes": {
                    str(count): [None if end is None else _minutes(end) for end in ends]
                    for count, ends in row.ends.items()
                },
            }
            for row in scarce
        ],
        "class": plan.planned.id,
        "students": plan.planned.students,
        "sessions": [_describe_session(held) for held in plan.session_plans],
        "kit": [
            {"tool": item.tool.id, "name": item.tool.name, "count": item.count} for item in plan.kit
        ],
        "shopping": [_describe_need(need) for need in plan.needs],
        "used_up": [
            {
                "tool": need.tool.id,
                "count": need.count,
                "packs": [{"count": count, "of": size} for count, size in need.packs],
                "price": round(need.price.base, 2) if need.price else None,
            }
            for need in plan.counted
        ],
        "runs": [
            run
            for number, held in enumerate(plan.session_plans, 1)
            for run in _describe_runs(library, held, number)
        ],
        "cost": {
            "currency": plan.currency,
            "to_buy": round(plan.to_buy, 2),
            "used": round(plan.used, 2),
            "per_student": round(plan.used / plan.planned.students, 2),
            "per_thing": round(plan.used / plan.things, 2) if plan.things else None,
            "without_price": [need.material.id for need in plan.needs if need.price is None],
        },
        "makespan": {
            "sessions": [
                {
                    "date": held.session.date.isoformat(),
                    "minutes": _minutes(held.makespan),
                    "at_least_minutes": _minutes(held.at_least),
                    "spare_minutes": _minutes(held.spare),
                }
                for held in plan.session_plans
            ],
            "longest_minutes": _minutes(max(held.makespan for held in plan.session_plans)),
        },
    }


def _minutes(seconds: float) -> float:
    return round(seconds / 60, 1)


def _describe_session(held: SessionPlan) -> dict[str, Any]:
    session = held.session
    return {
        "date": session.date.isoformat(),
        "start": session.start,
        "end": write_clock(held.start, session.length.base),
        "lessons": list(session.lessons),
        "last_done": write_clock(held.start, held.makespan),
        "brought": _describe_steps(held.brought),
        "left": _describe_steps(held.left),
        "begins": held.start.isoformat(),
        "talk_minutes": _minutes(held.talk),
        "clean_up_minutes": _minutes(held.clean_up),
        "waiting": [
            {
                "lesson": each.lesson,
                "step": each.step + 1,
                "until": each.until.isoformat(timespec="minutes"),
                "home": each.home,
            }
            for each in held.waiting
        ],
        "between": [
            {
                "lesson": each.lesson,
                "students": list(each.students),
                "equipment": each.shared,
                "unit": each.unit,
                "start": each.start.isoformat(timespec="minutes"),
                "end": each.end.isoformat(timespec="minutes"),
            }
            for each in held.between
        ],
        "heat": [[_minutes(start), _minutes(end)] for start, end in held.heats],
        "open_flammable": [[_minutes(start), _minutes(end)] for start, end in held.opens],
    }


def _describe_steps(steps: Iterable[tuple[str, int]]) -> list[dict[str, Any]]:
    return [{"lesson": lesson, "step": step + 1} for lesson, step in steps]


def _describe_runs(library: Library, held: SessionPlan, number: int) -> list[dict[str, Any]]:
    return [
        {
            "session": number,
            "start": write_clock(held.start, turn.start),
            "end": write_clock(held.start, turn.end),
            "student": turn.student,
            "lesson": turn.lesson,
            "step": turn.step + 1,
            "from_minutes": _minutes(turn.start),
            "to_minutes": _minutes(turn.end),
            "title": library.lessons[turn.lesson].steps[turn.step].title,
            "equipment": held.room.shared[turn.holds[0].shared].name if turn.holds else None,
            "unit": turn.holds[0].unit if turn.holds else None,
            "holds": [
                {
                    "equipment": each.shared,
                    "name": held.room.shared[each.shared].name,
                    "unit": each.unit,
                    "start": write_clock(held.start, each.start),
                    "end": write_clock(held.start, each.end),
                }
                for each in turn.holds
            ],
            "together": list(turn.group),
        }
        for turn in held.turns
    ]


def _describe_need(need: Need) -> dict[str, Any]:
    return {
        "material": need.material.id,
        "name": need.material.name,
        "amount": _describe_quantity(need.amount),
        "packs": [
            {"count": count, "amount": _describe_quantity(pack)} for count, pack in need.packs
        ],
        "price": round(need.price.base, 2) if need.price else None,
        "in_stock": _describe_quantity(need.stock) if need.stock else None,
    }


def _describe_quantity(quantity: Quantity) -> dict[str, Any]:
    return {"value": round(quantity.magnitude, 6), "unit": quantity.unit.text}


def render_how_many(plan: ClassPlan, scarce: Sequence[Scarce]) -> str:
    """Write when each session ends with one to four of what is scarce; a star marks what is."""
    if not scarce:
        return ""
    lines = [
        "",
        "How many? When all are done, nothing left for later, with 1 to 4 of each (* as planned):",
    ]
    for row in scarce:
        lines.append(f"   {row.name}")
        for count, ends in sorted(row.ends.items()):
            clocks = [
                "cannot be held" if end is None else write_clock(held.start, end)
                for held, end in zip(plan.session_plans, ends, strict=True)
            ]
            lines.append(f"   {count}{'*' if count == row.there else ' '} {'  '.join(clocks)}")
    return "\n".join(lines) + "\n"


def render_plan(library: Library, plan: ClassPlan) -> str:
    """Write a plan for a terminal: a few lines a session, then what it costs."""
    students = plan.planned.students
    people = "1 student" if students == 1 else f"{students} students"
    sessions = (
        "1 session" if len(plan.session_plans) == 1 else f"{len(plan.session_plans)} sessions"
    )
    lines = [f"{plan.planned.name}: {people}, {sessions}", ""]
    for number, held in enumerate(plan.session_plans, 1):
        session = held.session
        end = write_clock(held.start, session.length.base)
        lines.append(f"{number}  {write_date(session.date)}, {session.start} to {end}")
        for name in session.lessons:
            lines.append(f"   {library.lessons[name].title}")
        done = write_clock(held.start, held.makespan)
        spare = held.spare_minutes
        over = f"{spare} min to spare" if spare >= 0 else f"{-spare} min too late"
        least = write_clock(held.start, held.at_least)
        lines.append(f"   all are done at {done}, {over}; no plan ends before {least}")
        for word, steps in (("first", held.brought), ("left", held.left)):
            lines.extend(f"   {word}: {name}" for name in name_steps(library, steps))
        lines.append("")
    to_buy, used = write_price(plan.to_buy, plan.currency), write_price(plan.used, plan.currency)
    share = write_price(plan.used / students, plan.currency)
    each = f", {write_price(plan.used / plan.things, plan.currency)} each" if plan.things else ""
    lines.append(f"To buy: {to_buy}. Used of it: {used}, {share} a student{each}.")
    lacking = [need.material.name for need in plan.needs if need.price is None]
    if lacking:
        lines.append(f"Without a price: {', '.join(lacking)}.")
    return "\n".join(lines) + "\n"
