"""Python written as JavaScript: each piece gives the same on both sides, all else is refused."""

from __future__ import annotations

import ast
import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import yaml

from builder import twin_scripts
from builder.javascript import ScriptError, write_expression, write_module
from tests.v8 import TWIN_AT_HAND, start_engine

CASES = Path(__file__).parent.parent / "cases"
PIECES: dict[str, str] = yaml.safe_load((CASES / "javascript.yml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", PIECES)
def test_a_piece_gives_the_same_on_both_sides(name: str) -> None:
    source = PIECES[name]
    here: dict[str, Any] = {}
    exec(source, here)
    with start_engine(TWIN_AT_HAND, write_module(source).text) as engine:
        there = engine.call("f", [3, 1, 2])
    assert there == json.loads(json.dumps(here["f"]([3, 1, 2])))


@pytest.mark.parametrize(
    ("source", "reason"),
    [
        ("import os", "Import"),
        ("from os import path", "an import from os"),
        ("from math import log2 as two", "an import under another name"),
        ("from math import gamma", "an import from math"),
        ("def f(x):\n    return x ** 2", "a power"),
        ("def f(x):\n    return '%s' % x", "formatting by %"),
        ("def f(x):\n    return f'{x:.2f}'", "formatting in text"),
        ("def f(x):\n    return f'{x!r}'", "formatting in text"),
        ("def f(x):\n    return x + [1]", "joining lists by +"),
        ("def f(x):\n    return x == []", "a comparison with a list or mapping"),
        ("def f(x):\n    return x is True", "`is` with anything but None"),
        ("def f(x):\n    return x.strip()", "the method strip of 0 arguments"),
        ("def f(x):\n    return open(x)", 'the name "open"'),
        ("def f(x):\n    return g(x)", 'the name "g"'),
        ("def f(x):\n    return sorted(x, reverse=True)", "a call with named arguments"),
        ("def f(x):\n    with x:\n        pass", "With"),
        ("def f(x):\n    raise x", "Raise"),
        ("def f(x):\n    assert x", "Assert"),
        ("def f(x):\n    yield x", "Yield"),
        ("def f(x):\n    global y\n    y = x", "Global"),
        ("def f(x):\n    try:\n        pass\n    except ValueError:\n        pass", "Try"),
        ("def f(x):\n    for i in x:\n        pass\n    else:\n        pass", "For"),
        ("def f(x):\n    return x[::2]", "a slice with a step"),
        ("def f(x):\n    return 0 < len(x) < 3", "a chain of comparisons"),
        ("def f(x):\n    return 1e999", "a number that is not finite"),
        ("def f(x):\n    return 2j", "a constant of type complex"),
        ("def f(x):\n    return {*x}", "Set"),
        ("@g\ndef f(x):\n    return x", "a decorator"),
        ("class A:\n    pass", "ClassDef"),
        ("def f(x):\n    x.y = 1", "putting a value into this"),
    ],
)
def test_what_cannot_be_written_is_refused_with_its_line(source: str, reason: str) -> None:
    with pytest.raises(ScriptError) as refusal:
        write_module(source)
    assert reason in str(refusal.value)
    assert str(refusal.value).startswith("line ")


def test_arguments_by_name_or_of_any_number_are_refused() -> None:
    with pytest.raises(ScriptError, match="arguments by name"):
        write_module("def f(*x):\n    return x")


def test_types_are_left_out() -> None:
    script = write_module(
        "from typing import TypedDict, cast\n"
        "from builder.twin.shapes import Row, count\n"
        "Pair = tuple[int, int]\n"
        "class Kept(TypedDict):\n    a: int\n"
        "def f(x: Row) -> Kept:\n"
        '    """Say."""\n    y: Pair\n    return cast(Kept, Kept(a=count(x)))\n'
    )
    assert script.needs == ("count",)
    assert script.defines == ("f",)
    assert script.text == "function f(x) {\n  return {a: count(x)};\n}\n"


def test_text_cannot_close_the_script_it_stands_in() -> None:
    tree = ast.parse("'</script>'", mode="eval").body
    assert write_expression(tree) == '"<\\/script>"'


def test_names_are_unique_over_all_scripts() -> None:
    defined = Counter(
        name
        for modules in twin_scripts.SCRIPTS.values()
        for module in modules
        for name in write_module(Path(str(module.__file__)).read_text(encoding="utf-8")).defines
    )
    assert [name for name, times in defined.items() if times > 1] == []


def test_the_helpers_listed_are_those_of_the_file() -> None:
    lines = (twin_scripts.ASSETS / "primitives.js").read_text(encoding="utf-8").splitlines()
    written = {
        line.removeprefix("function ").partition("(")[0]
        for line in lines
        if line.startswith("function py_")
    }
    assert set(twin_scripts.HELPERS) == written - {"py_compare"}


def test_a_script_is_the_same_each_time_and_reads_well() -> None:
    text = twin_scripts.write_script(twin_scripts.MARKING)
    assert text == twin_scripts.write_script(twin_scripts.MARKING)
    assert "function mark_order(given, right) {" in text
    assert "for (let $place = 0, $place_end = py_len(right); $place < $place_end;" in text
