"""The house is as its own pages say: floors, files, words."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any, get_args

import click
import pytest
from pydantic import BaseModel

from builder.checks import RULES
from builder.cli import main
from builder.formulas.functions import FUNCTIONS
from builder.model import KINDS
from builder.output import MANIFEST
from builder.units import Quantity, Window

ROOT = Path(__file__).parent.parent.parent
BUILDER = ROOT / "builder"
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")

# Words of the craft that the shipped course teaches; the builder must not know one of them.
CRAFT = re.compile(
    r"\b(soap\w*|bars?|lye|micas?|moulds?|molds?|scent\w*|fragranc\w*|glycer\w*|saponif\w*"
    r"|unmould\w*|swirl\w*|sweat\w*|melt\w*|caustic|lather\w*|oils?|butters?)\b",
    re.IGNORECASE,
)


def list_modules() -> set[str]:
    """Modules and packages of the builder, as the guide's table names them."""
    files = {path.name for path in BUILDER.glob("*.py")} - {"__init__.py", "__main__.py"}
    packages = {f"{path.parent.name}/" for path in BUILDER.glob("*/__init__.py")}
    return files | packages


def test_the_builder_does_not_know_the_craft() -> None:
    found = []
    for path in sorted(BUILDER.rglob("*")):
        if path.suffix in (".py", ".j2", ".css", ".js", ".yml", ".typ", ".html") and path.is_file():
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
                if word := CRAFT.search(line):
                    found.append(f"{path.relative_to(ROOT)}:{number}: {word[0]}")
    assert found == []


def test_the_guide_names_every_module_and_no_other() -> None:
    rows = re.findall(r"^\| \d+ \| `([^`]+)` \|", GUIDE, re.MULTILINE)
    assert len(rows) == len(set(rows))
    assert set(rows) == list_modules()


def test_the_guides_floors_are_the_checked_ones() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    (floors,) = [
        contract["layers"]
        for contract in settings["tool"]["importlinter"]["contracts"]
        if contract["type"] == "layers"
    ]
    checked = [{name.strip(" ()") for name in layer.split("|")} - {"__main__"} for layer in floors]
    told: dict[int, set[str]] = {}
    for floor, name in re.findall(r"^\| (\d+) \| `([^`]+)` \|", GUIDE, re.MULTILINE):
        told.setdefault(int(floor), set()).add(name.removesuffix("/").removesuffix(".py"))
    present = {name.removesuffix("/").removesuffix(".py") for name in list_modules()}
    wanted = [layer & present for layer in checked if layer & present]
    assert [told[floor] for floor in sorted(told, reverse=True)] == wanted


def test_every_class_name_means_one_thing() -> None:
    found: dict[str, list[str]] = {}
    for path in sorted(BUILDER.rglob("*.py")):
        for name in re.findall(r"^class (\w+)", path.read_text(encoding="utf-8"), re.MULTILINE):
            found.setdefault(name, []).append(str(path.relative_to(ROOT)))
    assert {name: places for name, places in found.items() if len(places) > 1} == {}


def test_what_is_worked_out_of_a_course_is_worked_out_there_alone() -> None:
    once = (
        "build_cause_graph|build_prerequisite_graph|find_ancestry|index_hazards|attach_cautions"
        "|build_network|index_network|build_guide"
    )
    # Each defines what it calls, or asks about a course that is not the one read.
    known = {
        "course.py",
        "graph.py",
        "hazards.py",
        "vessels.py",
        "consult.py",
        "cases.py",
        "focus.py",
    }
    callers = {
        path.name
        for path in BUILDER.rglob("*.py")
        if re.search(rf"(?<!def )(?<![.\w])({once})\(", path.read_text(encoding="utf-8"))
    }
    assert callers - known == set()


def test_every_kind_has_its_starting_file_and_there_is_no_other() -> None:
    begun = {f"{kind.name}.yml" for kind in KINDS.values()}
    more = {"first-lesson.yml", "mkdocs.yml", "drawing.svg"}  # what a new course gets as well
    assert {path.name for path in (BUILDER / "templates" / "new").iterdir()} == begun | more


def test_every_command_is_in_the_readme() -> None:
    assert isinstance(main, click.Group)
    for name in main.commands:
        assert f"benchlore {name}" in README, name


def test_every_rule_has_a_manual_section_and_a_folder_of_tests() -> None:
    folders = {path.name for path in (ROOT / "tests" / "rules").iterdir() if path.is_dir()}
    assert set(RULES) == folders - {"__pycache__"}
    for rule in RULES.values():
        assert rule.summary, rule.id
        assert rule.why, rule.id


def walk_models(annotation: Any) -> Iterator[type[BaseModel]]:
    """Give the models within a type, and the models within their fields."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
        for info in annotation.model_fields.values():
            yield from walk_models(info.annotation)
    for part in get_args(annotation):
        yield from walk_models(part)


MODELS = sorted(
    {model for kind in KINDS.values() for model in walk_models(kind.model)},
    key=lambda model: model.__name__,
)


def holds(annotation: Any, *types: type) -> bool:
    """Say whether a type is one of these, or has one of them as its part."""
    return annotation in types or any(holds(part, *types) for part in get_args(annotation))


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_every_field_is_described_for_a_teacher(model: type[BaseModel]) -> None:
    assert model.__doc__
    for name, info in model.model_fields.items():
        told = info.description or ""
        where = f"{model.__name__}.{name}: {told}"
        assert name == "id" or len(told.split()) >= 3, where
        assert name == "id" or told[-1] in ".!?`", where
        if info.annotation is bool:
            assert told.startswith(("true ", "false ")), where
        elif holds(info.annotation, Quantity, Window, int, float, date):
            assert re.search(r"\d", told) or "usually" in told or "As for" in told, where


def test_every_function_that_formulas_may_call_says_what_it_does() -> None:
    for name, function in FUNCTIONS.items():
        assert function.doc, name


def test_nothing_without_a_reason_stands_at_the_top() -> None:
    shown = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    made = {"site", "out", "build", "benchlore.egg-info"}
    # Whoever follows the README here has results of the commands, and a course of their own.
    made |= {
        path.parent.name for mark in (MANIFEST, "mkdocs.yml") for path in ROOT.glob(f"*/{mark}")
    }
    assert shown - made == {
        "CHANGELOG.md",
        "DEVELOPERS.md",
        "LICENSE",
        "Makefile",
        "README.md",
        "builder",
        "kb",
        "lessons",
        "mkdocs.yml",
        "pyproject.toml",
        "tests",
    }
