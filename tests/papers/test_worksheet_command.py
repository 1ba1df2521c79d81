"""The worksheet command: what it writes where, and what it says where it cannot."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from exercise_course import FILES

from builder.cli import main
from builder.output import OutputError, write_files

PAPERS = ["answers.json", "answers.pdf", "worksheets.pdf"]


@pytest.fixture
def course(tmp_path: Path) -> Path:
    root = tmp_path / "course"
    for name, text in FILES.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")
    return root


def run(course: Path, *arguments: str) -> Result:
    """Run the command in a course."""
    return CliRunner().invoke(main, ["worksheet", "--course", str(course), *arguments])


def list_files(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if not path.name.startswith("."))


def test_sheets_key_and_answers_are_written(course: Path, tmp_path: Path) -> None:
    names = tmp_path / "names.csv"
    names.write_text("name\nAda\nBo\n", encoding="utf-8")
    out = tmp_path / "papers"
    done = run(course, "bench", "one-colour", "--students", str(names), "--out", str(out))
    assert done.exit_code == 0
    assert list_files(out) == PAPERS
    assert done.stdout.splitlines() == [str(out / name) for name in PAPERS]
    answers = json.loads((out / "answers.json").read_text(encoding="utf-8"))
    assert [sheet["name"] for sheet in answers["sheets"]] == ["Ada", "Bo"]
    assert answers["lessons"] == ["bench", "one-colour"]
    assert answers["seed"] == "1"


def test_without_a_list_the_whole_class_gets_sheets(course: Path, tmp_path: Path) -> None:
    done = run(course, "bench", "--out", str(tmp_path / "out"))
    assert done.exit_code == 0
    answers = json.loads((tmp_path / "out" / "answers.json").read_text(encoding="utf-8"))
    assert len(answers["sheets"]) == 4  # the class size of the course


def test_json_is_one_object_and_nothing_else(course: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = run(course, "bench", "--students", "2", "--out", str(out), "--format", "json")
    assert json.loads(done.stdout) == {"out": str(out), "files": PAPERS, "notes": []}
    assert done.stderr == ""


@pytest.mark.parametrize(
    ("arguments", "files"),
    [
        (["--checkpoint", "beginner"], PAPERS),
        (["--record"], ["record.pdf"]),
        (["--export", "csv"], ["exercises.csv"]),
        (["bench", "--export", "qti"], ["exercises-qti.zip"]),
        (["bench", "--paper", "letter", "--large-print", "--seed", "12"], PAPERS),
    ],
)
def test_other_papers(course: Path, tmp_path: Path, arguments: list[str], files: list[str]) -> None:
    out = tmp_path / "out"
    done = run(course, *arguments, "--students", "2", "--out", str(out))
    assert done.exit_code == 0, done.output
    assert list_files(out) == files


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "error: name a lesson, or several; the course has bench, ikat, one-colour"),
        (["bnch"], 'error: there is no lesson "bnch"; did you mean "bench"?'),
        (["bench", "--students", "0"], "error: there is no student, so there is nothing to print"),
        (["bench", "--students", "-2"], "error: there is no student"),
        (["bench", "--students", "99999999999"], "at most 5000 at once"),
        (["bench", "--students", "nobody.csv"], "error: nobody.csv is neither a number nor a file"),
        (["bench", "--record"], "error: --record chooses its own lessons; name none"),
        (["--record", "--export", "csv"], "make different things; ask for one at a time"),
        (["ikat"], "error: Ikat has no exercises yet"),
        (["--checkpoint", "advanced"], "error: the advanced lessons have no exercises yet"),
        (["bench", "--seed", "many"], "'many' is not a valid integer"),
        (["bench", "--paper", "foolscap"], "'foolscap' is not one of"),
    ],
)
def test_wrong_use_is_said_plainly_and_ends_with_2(
    course: Path, tmp_path: Path, arguments: list[str], message: str
) -> None:
    done = run(course, *arguments, "--out", str(tmp_path / "out"))
    assert done.exit_code == 2
    assert message in done.output
    assert "Traceback" not in done.output
    assert not (tmp_path / "out").exists()


def test_wrong_use_in_json(course: Path) -> None:
    done = run(course, "bench", "--students", "0", "--format", "json")
    assert json.loads(done.stdout) == {
        "errors": [{"message": "there is no student, so there is nothing to print"}]
    }


def test_a_course_with_errors_prints_nothing(course: Path, tmp_path: Path) -> None:
    lesson = course / "lessons/wool/bench.yml"
    lesson.write_text(lesson.read_text().replace("values: [42 degC", "values: [442 degC"))
    done = run(course, "one-colour", "--out", str(tmp_path / "out"))
    assert done.exit_code == 1
    assert "[exercise-invalid]" in done.stdout
    assert "Nothing was printed." in done.stdout
    assert not (tmp_path / "out").exists()


def test_papers_stand_beside_other_things_and_replace_only_our_own(tmp_path: Path) -> None:
    (tmp_path / "names.csv").write_text("Ada\n")
    write_files(tmp_path, {"a.pdf": b"1", "b.json": b"1"})
    write_files(tmp_path, {"a.pdf": b"2"})
    assert (tmp_path / "a.pdf").read_bytes() == b"2"
    assert list_files(tmp_path) == ["a.pdf", "b.json", "names.csv"]
    (tmp_path / "c.pdf").write_bytes(b"theirs")
    with pytest.raises(OutputError, match=r"holds c\.pdf that was not made here"):
        write_files(tmp_path, {"a.pdf": b"3", "c.pdf": b"3"})
    assert (tmp_path / "a.pdf").read_bytes() == b"2"
    assert (tmp_path / "c.pdf").read_bytes() == b"theirs"
    with pytest.raises(OutputError, match="is not a folder"):
        write_files(tmp_path / "names.csv", {"a.pdf": b"1"})


def test_papers_that_were_changed_since_are_not_lost(tmp_path: Path) -> None:
    write_files(tmp_path, {"list.csv": b"one", "key.pdf": b"1"})
    (tmp_path / "list.csv").write_bytes(b"one, and my own")
    with pytest.raises(OutputError, match=r"list\.csv in .* was changed since we wrote it"):
        write_files(tmp_path, {"list.csv": b"two", "key.pdf": b"2"})
    assert (tmp_path / "list.csv").read_bytes() == b"one, and my own"
    assert (tmp_path / "key.pdf").read_bytes() == b"1"
    (tmp_path / "list.csv").unlink()
    write_files(tmp_path, {"list.csv": b"two", "key.pdf": b"2"})
    assert (tmp_path / "list.csv").read_bytes() == b"two"


def test_a_full_disk_leaves_what_stood(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_files(tmp_path, {"a.pdf": b"1", "b.pdf": b"1"})
    written: list[str] = []

    def run_out(path: Path, data: bytes) -> None:
        written.append(path.name)
        if path.name == "b.pdf":
            raise OSError(28, "No space left on device")
        path.write_bytes(data)

    monkeypatch.setattr("builder.output.write_whole", run_out)
    with pytest.raises(OutputError, match="No space left"):
        write_files(tmp_path, {"a.pdf": b"2", "b.pdf": b"2"})
    assert written == ["a.pdf", "b.pdf"]
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes() == b"1"
    assert list_files(tmp_path) == ["a.pdf", "b.pdf"]
