"""Works out the points of a calculator's plot."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from builder.twin.arithmetic import check_finite
from builder.twin.calculators.bands import FEW_UNSURE, list_moved, list_unsure
from builder.twin.calculators.measures import unit_row
from builder.twin.calculators.running import compute, read_inputs, run_step
from builder.twin.number_format import convert_from_base
from builder.twin.primitives import read_failure

MOST_SAMPLES = 81


def sample_plot(d: Mapping[str, Any], f: Sequence[Any], raw: Mapping[str, Any]) -> Any:
    """Work out the points of a calculator's plot, in the units of its axes.

    Returns:
        `{"curves": [[[x, y], ...]], "spread": [[[x, low, high], ...]], "bands": [[low, high]],
        "marks": [[x, y]], "x": [start, end]}` in the order the calculator lists them, or None
        where there is no answer. A place where a curve has no value is left out of it.
    """
    plot = d["plot"]
    read = read_inputs(d, f, raw)
    values = read[0]
    if plot is None or len(read[1]) > 0 or compute(d, f, values) is not None:
        return None
    x_row = unit_row(d, plot["x_unit"])
    y_row = unit_row(d, plot["y_unit"])
    try:
        start = f[plot["start"]](values, d["tables"])
        end = f[plot["end"]](values, d["tables"])
        bands = [
            [read_point(f[band[0]], values, d, y_row), read_point(f[band[1]], values, d, y_row)]
            for band in plot["bands"]
        ]
        marks = [
            [read_point(f[mark[0]], values, d, x_row), read_point(f[mark[1]], values, d, y_row)]
            for mark in plot["marks"]
        ]
    except Exception as failure:
        read_failure(failure)
        return None
    curves: list[Any] = []
    spread: list[Any] = []
    for _curve in plot["curves"]:
        curves.append([])
        spread.append([])
    corners = list_corners(d, f, values)
    for index in range(MOST_SAMPLES):
        x = start + (end - start) * index / (MOST_SAMPLES - 1)
        values[plot["name"]] = x
        if plot["again"]:
            for step in d["steps"]:
                if step["name"] != "":
                    run_step(d, f, values, step)
        for place in range(len(plot["curves"])):
            try:
                y = read_point(f[plot["curves"][place]], values, d, y_row)
                curves[place].append([convert_from_base(x, x_row), y])
            except Exception as failure:
                read_failure(failure)
            ends = find_height(d, f, corners, place, x, y_row)
            if len(ends) > 0:
                spread[place].append([convert_from_base(x, x_row), ends[0], ends[1]])
    return {
        "x": [convert_from_base(start, x_row), convert_from_base(end, x_row)],
        "curves": curves,
        "spread": spread,
        "bands": bands,
        "marks": marks,
    }


def list_corners(
    d: Mapping[str, Any], f: Sequence[Any], values: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """List the values at the ends of all that is unsure; none where nothing is, or too much."""
    unsure = list_unsure(d, f, values)
    corners: list[dict[str, Any]] = []
    if len(unsure) == 0 or len(unsure) > FEW_UNSURE:
        return corners
    for moved in list_moved(values, unsure, 2):
        if compute(d, f, moved) is None:
            corners.append(moved)
    return corners


def find_height(
    d: Mapping[str, Any],
    f: Sequence[Any],
    corners: Sequence[dict[str, Any]],
    place: int,
    x: float,
    y_row: Sequence[Any],
) -> list[float]:
    """Find the least and the greatest height of a curve at a place, or nothing."""
    plot = d["plot"]
    ends: list[float] = []
    for corner in corners:
        corner[plot["name"]] = x
        try:
            if plot["again"]:
                for step in d["steps"]:
                    if step["name"] != "":
                        run_step(d, f, corner, step)
            y = read_point(f[plot["curves"][place]], corner, d, y_row)
            ends = [y, y] if len(ends) == 0 else [min(ends[0], y), max(ends[1], y)]
        except Exception as failure:
            read_failure(failure)
    return ends


def read_point(
    formula: Callable[..., Any], values: Mapping[str, Any], d: Mapping[str, Any], row: Sequence[Any]
) -> float:
    """Give a formula's value in the unit of an axis."""
    return convert_from_base(check_finite(formula(values, d["tables"])), row)
