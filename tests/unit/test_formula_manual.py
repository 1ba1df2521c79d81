"""The manual of formulas: every function and pattern is there, and its example was run."""

from __future__ import annotations

import pytest

from builder.formulas.functions import FUNCTIONS
from builder.formulas.manual import (
    ARGUMENTS,
    ManualEntry,
    describe_functions,
    describe_patterns,
    run_example,
)


def test_every_function_stands_in_the_manual_with_its_example_run() -> None:
    entries = {each.id: each for each in describe_functions()}
    assert set(entries) == set(FUNCTIONS)
    for name, entry in entries.items():
        assert entry.gives == ("second" if name == "names" else "true"), name
        assert entry.written.startswith(f"{name}(")


@pytest.mark.parametrize("entry", describe_patterns(), ids=lambda entry: entry.id)
def test_every_pattern_is_shown_at_work(entry: ManualEntry) -> None:
    assert entry.gives == "true"


def test_every_argument_of_the_table_has_a_name_for_readers() -> None:
    used = {each for function in FUNCTIONS.values() for each in function.arguments}
    assert used <= set(ARGUMENTS)


def test_a_false_example_would_show() -> None:
    assert run_example("a > 5") == "false"
    assert run_example("a * c") == "1"
