"""A warning of a library never ends a command; one of ours does, where it is asked for."""

from __future__ import annotations

import warnings
from pathlib import Path

import pytest
from click.testing import CliRunner

from builder import library
from builder.cli import main
from builder.library_warnings import pass_over_library_warnings
from tests.helpers import PRESSED_FLOWERS


def warn_in(module: str) -> None:
    """Warn as code of a module would."""
    warnings.warn_explicit("old", DeprecationWarning, "x.py", 1, module=module)


@pytest.mark.parametrize("name", ["pint.util", "networkx", "builders", "__main__"])
def test_a_library_may_warn_where_warnings_are_errors(name: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(DeprecationWarning):
            warn_in(name)
        with pass_over_library_warnings():
            warn_in(name)


@pytest.mark.parametrize("name", ["builder", "builder.units"])
def test_a_warning_of_ours_stays_one(name: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pass_over_library_warnings(), pytest.raises(DeprecationWarning):
            warn_in(name)


def test_a_command_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    load = library.load_library

    def load_and_warn(root: Path) -> object:
        warn_in("yaml.reader")
        return load(root)

    monkeypatch.setattr("builder.build.load_library", load_and_warn)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        result = CliRunner().invoke(main, ["check", "--course", str(PRESSED_FLOWERS)])
    assert result.exit_code == 0, result.output
