"""`rules` and `pages`: what they print and write, in both forms, and what they refuse."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from builder.checks import RULES
from builder.cli import main
from builder.cli.speaking import print_json


def call(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def course(tmp_path: Path) -> Path:
    assert call("new", "course", "Paper", "--course", tmp_path).exit_code == 0
    return tmp_path / "paper"


def test_the_rules_are_listed_in_a_line_each() -> None:
    lines = call("rules").stdout.splitlines()
    assert [line.split()[0] for line in lines] == list(RULES)
    assert all(line.endswith(RULES[line.split()[0]].summary) for line in lines)
    listed = json.loads(call("rules", "--format", "json").stdout)
    assert [each["id"] for each in listed["rules"]] == list(RULES)


def test_a_rule_tells_all_that_its_section_of_the_manual_does() -> None:
    told = call("rules", "heat-after-flammable")
    rule = RULES["heat-after-flammable"]
    assert told.exit_code == 0
    for part in (rule.id, "error", rule.summary, rule.why):
        assert part in told.stdout
    lines = [line.strip() for line in told.stdout.splitlines()]
    for example in (rule.failing, rule.passing):
        assert {line.strip() for line in example.splitlines()} <= set(lines)
    said = json.loads(call("rules", rule.id, "--format", "json").stdout)
    assert (said["why"], said["passing"]) == (rule.why, rule.passing)


def test_a_rule_that_is_not_there_is_wrong_use() -> None:
    near = call("rules", "heat-after-flamable")
    assert near.exit_code == 2
    assert 'did you mean "heat-after-flammable"?' in near.stderr
    far = call("rules", "xyz", "--format", "json")
    assert far.exit_code == 2
    assert "benchlore rules lists them" in json.loads(far.stdout)["errors"][0]["message"]


def test_a_check_with_findings_names_the_command_once(course: Path) -> None:
    (course / "kb" / "defects.yml").write_text("torn: {nane: Torn}\nbent: {nane: Bent}\n")
    found = call("check", "--course", course)
    assert found.exit_code == 1
    assert found.stdout.count("benchlore rules ") == 1
    assert "benchlore rules " not in call("check", "--course", course, "--format", "json").stdout


def test_pages_are_written_as_a_docs_folder(course: Path, tmp_path: Path) -> None:
    docs = tmp_path / "docs"
    done = call("pages", "--course", course, "--out", docs, "--format", "json")
    assert done.exit_code == 0, done.output
    said = json.loads(done.stdout)
    assert said == {"pages": len(list(docs.rglob("*.md"))), "out": str(docs)}
    assert said["pages"] > 3
    again = call("pages", "--course", course, "--out", docs)
    assert again.exit_code == 0, "a folder of ours is written anew"
    assert "use_directory_urls: false" in again.stderr
    (docs / "mine.txt").write_text("mine")
    refused = call("pages", "--course", course, "--out", docs)
    assert refused.exit_code == 2
    assert "mine.txt" in refused.stderr
    assert (docs / "mine.txt").read_text() == "mine"


def test_no_pages_are_written_of_a_course_with_errors(course: Path, tmp_path: Path) -> None:
    (course / "kb" / "defects.yml").write_text("torn: {nane: Torn}\n")
    for style in ("text", "json"):
        failed = call("pages", "--course", course, "--out", tmp_path / "docs", "--format", style)
        assert failed.exit_code == 1
    assert json.loads(failed.stdout)["findings"]
    assert not (tmp_path / "docs").exists()
    inside = call("pages", "--course", course, "--out", course / "kb" / "docs")
    assert inside.exit_code == 2


def test_json_is_utf8_whatever_a_folder_is_called(
    capfdbinary: pytest.CaptureFixture[bytes],
) -> None:
    name = os.fsdecode(b"S\xe9ance \xc3\xbc")
    print_json({"out": name})
    printed = capfdbinary.readouterr().out
    assert json.loads(printed.decode("utf-8")) == {"out": name}
    assert "ü".encode() in printed
