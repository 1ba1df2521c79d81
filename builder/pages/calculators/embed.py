"""A calculator at work: fields, answers, warnings, plot. It stands on its page and in lessons."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from urllib.parse import quote

from markupsafe import Markup

from builder.calculators import CompiledCalculator
from builder.pages.calculators.answer_fields import (
    AnswerView,
    PlotView,
    WarningView,
    view_answers,
    view_plot,
    view_warnings,
)
from builder.pages.calculators.fields import FieldView, view_fields, write_typed
from builder.pages.calculators.scripts import SHARED_SCRIPTS, name_script
from builder.pages.maker import PageMaker
from builder.pages.records import ASSET_FOLDER, relative_address


@dataclass(frozen=True, slots=True)
class LiveView:
    """What a calculator shows before anyone types.

    Args:
        id: Of the calculator.
        name: Of the calculator.
        dom: Unique on the page; the ids of its parts begin with it.
        page: Link to the calculator's own page with these values, or "" on that page.
        fields: What it asks.
        filled: What is filled in, label and text, for readers without scripts.
        large: The answers shown large.
        small: The other answers.
        warnings: All that it may bring.
        signal: The most severe of those that hold and are more than a note, or None.
        refusals: Why there is no answer, where there is none.
        plot: The plot, if it has one.
    """

    id: str
    name: str
    dom: str
    page: str
    fields: tuple[FieldView, ...]
    filled: tuple[tuple[str, tuple[str, ...]], ...]
    large: tuple[AnswerView, ...]
    small: tuple[AnswerView, ...]
    warnings: tuple[WarningView, ...]
    signal: WarningView | None
    refusals: tuple[str, ...]
    plot: PlotView | None


def render_live(
    maker: PageMaker,
    compiled: CompiledCalculator,
    address: str,
    raw: Mapping[str, str] | None = None,
    number: int = 0,
) -> Markup:
    """Render a calculator at work.

    Args:
        maker: What all pages share.
        compiled: The calculator.
        address: Of the page it stands on.
        raw: What is filled in where that is not the default.
        number: Which of the page's calculators it is, from 1; 0 on the calculator's own page.
    """
    view = view_live(maker, compiled, address, raw or {}, number)
    return Markup(str(maker.render("calculator_embed.html.j2", address, view=view)).strip())


def view_live(
    maker: PageMaker,
    compiled: CompiledCalculator,
    address: str,
    raw: Mapping[str, str],
    number: int,
) -> LiveView:
    """Make the view of a calculator at work; takes what `render_live` takes."""
    entry = compiled.entry
    result = compiled.calculate(raw)
    dom = f"{entry.id}-{number}" if number else entry.id
    large, small = view_answers(compiled, result)
    warnings = view_warnings(maker.words, compiled, result)
    fields = view_fields(compiled, raw)
    page = ""
    if number:
        anchor = write_hash(raw)
        page = relative_address(address, f"calculators/{entry.id}/", anchor)
    return LiveView(
        id=entry.id,
        name=entry.name,
        dom=dom,
        page=page,
        fields=fields,
        filled=tuple(
            (
                field.label,
                tuple(write_typed(compiled, field.name, _find_typed(compiled, raw, field.name))),
            )
            for field in fields
            if not field.hidden and _find_typed(compiled, raw, field.name)
        ),
        large=large,
        small=small,
        warnings=warnings,
        signal=next((each for each in warnings if each.level != "note" and not each.hidden), None),
        refusals=tuple(error["message"] for error in result.errors),
        plot=view_plot(maker.words, compiled, raw, maker.shelf.scale, dom),
    )


def render_scripts(address: str, calculators: Iterable[str]) -> Markup:
    """Render what calls the scripts of a page with calculators; each script is called once.

    Args:
        address: Of the page.
        calculators: Ids of the calculators on it.
    """
    names = (*SHARED_SCRIPTS, *(name_script(name) for name in dict.fromkeys(calculators)))
    sources = (relative_address(address, ASSET_FOLDER + name) for name in names)
    return Markup("\n").join(
        Markup('<script src="{}" defer></script>').format(source) for source in sources
    )


def _find_typed(compiled: CompiledCalculator, raw: Mapping[str, str], name: str) -> str:
    return raw.get(name, compiled.entry.inputs[name].default or "")


def write_hash(raw: Mapping[str, str]) -> str:
    """Write values as the part of a link behind `#`; the script fills them in."""
    return "&".join(f"{name}={quote(value, safe=':,;')}" for name, value in raw.items())
