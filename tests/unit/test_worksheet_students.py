"""Lists of students: what is read, and what a teacher is told where it cannot be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builder.papers import Students, StudentsError, count_students, read_students


@pytest.mark.parametrize(
    ("contents", "names"),
    [
        ("Ada\nBo\n", ("Ada", "Bo")),
        ("name\nAda\nBo\n", ("Ada", "Bo")),
        ("Name,Group\nAda,1\nBo,2\n", ("Ada", "Bo")),
        ("group;STUDENT\n1;Ada\n2;Bo\n", ("Ada", "Bo")),
        ("number\tname\n1\tAda\n2\tBo", ("Ada", "Bo")),
        ("id\n1\n2\n", ("1", "2")),
        ('"Lovelace, Ada"\n"Bo"\n', ("Lovelace, Ada", "Bo")),
        ("\ufeffname\r\nAda\r\n\r\n  \r\nBo\r\n", ("Ada", "Bo")),
        ("  Ada   of  the Hill \n", ("Ada of the Hill",)),
        (
            "Ægir Þórðarson\nНаталья\n山田太郎\nمحمد\n",
            ("Ægir Þórðarson", "Наталья", "山田太郎", "محمد"),
        ),
        ("Bo\x1b[31m\n", ("Bo [31m",)),
    ],
)
def test_names_are_read(contents: str, names: tuple[str, ...]) -> None:
    assert read_students(contents.encode()).names == names


@pytest.mark.parametrize(
    ("contents", "message"),
    [
        (b"", "names.csv holds no names, so there is nothing to print"),
        (b"\n \n,,\n", "names.csv holds no names, so there is nothing to print"),
        (b"name\n", "names.csv holds a heading but no names, so there is nothing to print"),
        (
            b"PK\x03\x04\0\0",
            "names.csv is not a text file; save the list as CSV (comma-separated values, UTF-8)",
        ),
        (
            "Ada\nJosé\n".encode("latin-1"),
            "names.csv, line 2: these letters are not in UTF-8; save the list as CSV UTF-8",
        ),
        (b'name\n"Ada\nBo\n', "names.csv, line 3: a quotation mark is not closed"),
        (
            b'"Ada" B\n',
            "names.csv, line 1: text follows a closed quotation mark; "
            "double the marks inside a name",
        ),
        (b"group,name\n1,Ada\n2\n", "names.csv, line 3: there is no name in column 2"),
        (
            b"name\n" + b"x" * 81,
            "names.csv, line 2: the name is longer than 80 characters; is the right column first?",
        ),
        (b"a\n" * 5001, "names.csv holds 5001 students; at most 5000 are printed at once"),
    ],
)
def test_what_cannot_be_read_is_said_plainly(contents: bytes, message: str) -> None:
    with pytest.raises(StudentsError) as refused:
        read_students(contents, "names.csv")
    assert str(refused.value) == message


def test_two_of_one_name_are_kept_and_noted() -> None:
    read = read_students(b"Ada\nBo\nAda\n")
    assert read.names == ("Ada", "Bo", "Ada")
    assert read.notes == ("more than one student is called Ada: tell their sheets apart by number",)


def test_a_count_gives_sheets_without_names() -> None:
    assert count_students(3) == Students(("", "", ""))


@pytest.mark.parametrize(
    ("count", "message"),
    [(0, "there is no student"), (-3, "there is no student"), (5001, "at most 5000 at once")],
)
def test_a_count_has_bounds(count: int, message: str) -> None:
    with pytest.raises(StudentsError, match=message):
        count_students(count)


@given(st.binary(max_size=200))
def test_any_file_is_read_or_refused_in_words(contents: bytes) -> None:
    try:
        names: tuple[str, ...] = read_students(contents).names
        said = ""
    except StudentsError as refused:
        names, said = (), str(refused)
    assert bool(names) != (len(said) > 20)
    assert all(name == " ".join(name.split()) != "" for name in names)
