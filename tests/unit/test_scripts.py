"""The hand-written scripts: every file is joined in, every name used, and they run in V8."""

from __future__ import annotations

import re

import pytest

from builder.pages.scripts import ASSETS, FILES, join_script, write_texts
from builder.words import load_words

TOP = re.compile(r"^(?:async )?(?:function|class|const|let) (\w+)", re.MULTILINE)


@pytest.mark.parametrize("script", FILES)
def test_every_file_of_the_folder_is_joined_in(script: str) -> None:
    folder = ASSETS / script.removesuffix(".js")
    assert sorted(path.stem for path in folder.glob("*.js")) == sorted(FILES[script])


@pytest.mark.parametrize("script", FILES)
def test_every_file_is_small_and_every_name_is_used(script: str) -> None:
    folder = ASSETS / script.removesuffix(".js")
    texts = {name: (folder / f"{name}.js").read_text(encoding="utf-8") for name in FILES[script]}
    everything = "\n".join(texts.values())
    for name, text in texts.items():
        assert text.count("\n") <= 240, name
        for defined in TOP.findall(text):
            assert len(re.findall(rf"\b{defined}\b", everything)) > 1, f"{name}: {defined}"


@pytest.mark.parametrize("script", FILES)
def test_a_joined_script_is_plain_and_has_one_scope(script: str) -> None:
    joined = join_script(script)
    assert joined.startswith("(function () {")
    assert not re.search(r"^(import|export)\b", joined, re.MULTILINE)
    assert "/**" not in re.sub(r"/\*\* @type [^*]*\*/ \(", "", joined)


def test_the_table_of_texts_holds_what_scripts_say() -> None:
    written = write_texts(load_words("en"))
    assert '"calculator.row-added": "Row {n} added."' in written
    assert "lesson.need" not in written
