"""Decision charts: the diagnosis of one defect as a small tree of questions, to read on paper."""

from __future__ import annotations

from builder.charts.drawing import draw_chart, list_chart, measure_chart
from builder.charts.tree import Chart, Leaf, Split, list_leaves, make_chart, make_charts

__all__ = [
    "Chart",
    "Leaf",
    "Split",
    "draw_chart",
    "list_chart",
    "list_leaves",
    "make_chart",
    "make_charts",
    "measure_chart",
]
