"""Draws a calculator's plot as SVG: thin axes, everything labelled where it stands, no legend.

The same text runs in Python, for the page as built, and, compiled, in the browser, which draws anew
as values change. It therefore keeps to the part of Python that compiles; see `figures`.

The shape of a plot is a mapping: `title`; `x` and `y`, each `[label, symbol, US symbol, factor,
offset]` with which US values follow from those of the axis (symbol "" where there is no US side);
`curves` as `[label, dashed]`; `bands` and `marks` as labels; `heat`, the cool and the hot end of
the course's scale of temperature in the unit of the upright axis, or empty. The points are those
of `sample_plot`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from builder.twin.number_format import choose_places, format_number, join_unit

LETTER = 7.0
"""Width of a letter at the size of the labels, rather too large than too small."""


def draw_plot(shape: Mapping[str, Any], points: Any, width: float, height: float, name: str) -> str:
    """Draw a plot.

    Args:
        shape: What does not change with the values.
        points: Points of the curves, bands and marks, in the units of the axes; None draws nothing.
        width: Of the drawing; one unit is about one pixel.
        height: Of the drawing.
        name: For ids; unique on the page.
    """
    if points is None:
        return ""
    x_axis = make_axis(points["x"][0], points["x"][1], 0.0, width / 85.0)
    span = find_span(points)
    y_axis = make_axis(span[0], span[1], 0.06, height / 55.0)
    left = 14.0 + LETTER * longest_tick(y_axis)
    right = width - 14.0
    if shape["y"][2] != "":
        right = width - 14.0 - LETTER * 3.0
    top = 34.0
    bottom = height - (58.0 if shape["x"][2] != "" else 44.0)
    frame = [left, top, right, bottom]
    out = draw_axes(shape, x_axis, y_axis, frame)
    labels: list[Any] = []
    spots = list_spots(points, x_axis, y_axis, frame)
    taken: list[Any] = []
    soft: list[Any] = []
    for index in range(len(points["marks"])):
        mark = points["marks"][index]
        x = place_on(mark[0], x_axis, left, right)
        y = place_on(mark[1], y_axis, bottom, top)
        taken.append([x - 6.0, y - 6.0, x + 6.0, y + 6.0])
    for index in range(len(points["bands"])):
        band = points["bands"][index]
        low = limit(place_on(band[0], y_axis, bottom, top), top, bottom)
        high = limit(place_on(band[1], y_axis, bottom, top), top, bottom)
        out = out + '<rect class="bl-plot-band"' + box(left, high, right - left, low - high) + "/>"
        out = out + line("bl-plot-edge", left, high, right, high)
        out = out + line("bl-plot-edge", left, low, right, low)
        soft.append([left, high, right, low])
        labels.append([shape["bands"][index], list_band_places(left, right, low, high), "band"])
    stroke = ""
    if len(shape["heat"]) == 2:
        out = out + draw_heat(shape["heat"], y_axis, frame, name)
        stroke = ' stroke="url(#' + name + '-heat)"'
    for spread in points["spread"]:
        out = out + draw_spread(spread, x_axis, y_axis, frame)
    for index in range(len(points["curves"])):
        curve = points["curves"][index]
        if len(curve) == 0:
            continue
        dashed = shape["curves"][index][1]
        path = ""
        places: list[Any] = []
        for place in range(len(curve)):
            x = place_on(curve[place][0], x_axis, left, right)
            y = limit(place_on(curve[place][1], y_axis, bottom, top), top - 40.0, bottom + 40.0)
            path = path + ("L" if path != "" else "M") + at(x) + " " + at(y)
        for share in (0.97, 0.82, 0.66, 0.5, 0.34, 0.2, 0.06):
            spot = curve[int((len(curve) - 1) * share)]
            x = place_on(spot[0], x_axis, left, right)
            y = place_on(spot[1], y_axis, bottom, top)
            places.append([x - 5.0, y - 8.0, "end"])
            places.append([x + 5.0, y - 8.0, "start"])
            places.append([x - 5.0, y + 18.0, "end"])
            places.append([x + 5.0, y + 18.0, "start"])
        style = "bl-plot-curve" + (" bl-plot-dashed" if dashed else "")
        out = out + '<path class="' + style + '"' + ("" if dashed else stroke)
        out = out + ' d="' + path + '"/>'
        labels.append([shape["curves"][index][0], places, "curve"])
    for index in range(len(points["marks"])):
        mark = points["marks"][index]
        x = place_on(mark[0], x_axis, left, right)
        y = place_on(mark[1], y_axis, bottom, top)
        out = out + '<circle class="bl-plot-mark" cx="' + at(x) + '" cy="' + at(y) + '" r="5"/>'
        places = [
            [x + 9.0, y - 7.0, "start"],
            [x - 9.0, y - 7.0, "end"],
            [x + 9.0, y + 18.0, "start"],
            [x - 9.0, y + 18.0, "end"],
            [x, y - 14.0, "middle"],
            [x, y + 24.0, "middle"],
        ]
        labels.insert(0, [shape["marks"][index], places, "mark"])
    for label in labels:
        out = out + draw_label(label, spots, taken, soft, frame)
    head = '<svg class="bl-plot-drawing" viewBox="0 0 ' + at(width) + " " + at(height)
    head = head + '" role="img" focusable="false"><title>' + escape_text(shape["title"])
    head = head + "</title><desc>" + escape_text(describe_plot(shape, points)) + "</desc>"
    return head + out + "</svg>"


def make_axis(low: float, high: float, slack: float, most: float) -> dict[str, Any]:
    """Choose the range of an axis and its round steps.

    Args:
        low: Least value shown.
        high: Greatest value shown.
        slack: Share of the range left free at each end.
        most: About how many steps there may be.
    """
    if high <= low:
        room = abs(low) * 0.1 + 0.5
        low = low - room
        high = high + room
    span = high - low
    start = low - span * slack
    if start < 0 and low >= 0:
        start = 0.0
    end = high + span * slack
    return {"low": start, "high": end, "ticks": list_ticks(start, end, most)}


def choose_step(low: float, high: float, most: float) -> Sequence[Any]:
    """Choose the least round step, 1, 2 or 5 times a power of ten, that is taken so often at most.

    Returns:
        A list of two: the step, and its decimal places.
    """
    size = (high - low) / most
    step = 1.0
    places = 0
    while step < size:
        step = step * 10.0
    while step >= size * 10.0 and places < 9:
        step = step / 10.0
        places += 1
    # The step is now the power of ten at or above the size; a half, a fifth or a quarter may do.
    if step / 5.0 >= size:
        step = step / 5.0
        places = places + 1 if step < 1 else 0
    elif step / 2.0 >= size:
        step = step / 2.0
        places = places + 1 if step < 1 else 0
    return [step, places]


def list_ticks(low: float, high: float, most: float) -> dict[str, Any]:
    """List round values between two ends, about as many as asked: values, and decimal places."""
    chosen = choose_step(low, high, most)
    step = chosen[0]
    values: list[float] = []
    number = low / step // 1.0
    while number * step < low - step * 1e-6:
        number += 1.0
    while number * step <= high + step * 1e-6:
        values.append(number * step)
        number += 1.0
    return {"values": values, "places": chosen[1]}


def longest_tick(axis: Mapping[str, Any]) -> int:
    """Give the letters of the longest number on an axis."""
    longest = 0
    for value in axis["ticks"]["values"]:
        length = len(format_number(value, axis["ticks"]["places"]))
        if length > longest:
            longest = length
    return longest


def find_span(points: Mapping[str, Any]) -> Sequence[float]:
    """Give the least and the greatest height of curves, bands and marks."""
    heights: list[float] = []
    for curve in points["curves"]:
        for spot in curve:
            heights.append(spot[1])
    for band in points["bands"]:
        heights.append(band[0])
        heights.append(band[1])
    for mark in points["marks"]:
        heights.append(mark[1])
    low = heights[0] if len(heights) > 0 else 0.0
    high = low
    for value in heights:
        if value < low:
            low = value
        if value > high:
            high = value
    return [low, high]


def place_on(value: float, axis: Mapping[str, Any], start: float, end: float) -> float:
    """Give the place of a value between the two ends of an axis on the drawing."""
    share = (value - axis["low"]) / (axis["high"] - axis["low"])
    return float(start + share * (end - start))


def limit(value: float, low: float, high: float) -> float:
    """Keep a value between two ends."""
    if value < low:
        return low
    if value > high:
        return high
    return value


def at(value: float) -> str:
    """Write a coordinate."""
    return format_number(value, 1).replace("−", "-")


def box(x: float, y: float, width: float, height: float) -> str:
    """Write the attributes of a rectangle."""
    text = ' x="' + at(x) + '" y="' + at(y) + '" width="' + at(width)
    return text + '" height="' + at(height if height > 0 else 0.0) + '"'


def line(style: str, x: float, y: float, x_end: float, y_end: float) -> str:
    """Write a straight line."""
    path = "M" + at(x) + " " + at(y) + "L" + at(x_end) + " " + at(y_end)
    return '<path class="' + style + '" d="' + path + '"/>'


def write_text(style: str, x: float, y: float, anchor: str, text: str) -> str:
    """Write a line of text."""
    place = '" x="' + at(x) + '" y="' + at(y) + '" text-anchor="' + anchor + '">'
    return '<text class="' + style + place + escape_text(text) + "</text>"


def escape_text(text: str) -> str:
    """Write the signs of markup as text."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def name_axis(label: str, symbol: str) -> str:
    """Name an axis with its unit, `Time (min)`."""
    return label + " (" + symbol + ")" if symbol != "" else label


def draw_axes(
    shape: Mapping[str, Any],
    x_axis: Mapping[str, Any],
    y_axis: Mapping[str, Any],
    frame: Sequence[float],
) -> str:
    """Draw grid, axes and numbers, the US side at the other edge."""
    left = frame[0]
    top = frame[1]
    right = frame[2]
    bottom = frame[3]
    out = ""
    for value in y_axis["ticks"]["values"]:
        y = place_on(value, y_axis, bottom, top)
        number = format_number(value, y_axis["ticks"]["places"])
        out = out + line("bl-plot-grid", left, y, right, y)
        style = "bl-plot-tick" + (" bl-metric" if shape["y"][2] != "" else "")
        out = out + write_text(style, left - 7.0, y + 4.5, "end", number)
    for value in x_axis["ticks"]["values"]:
        x = place_on(value, x_axis, left, right)
        number = format_number(value, x_axis["ticks"]["places"])
        out = out + line("bl-plot-axis", x, bottom, x, bottom + 5.0)
        style = "bl-plot-tick" + (" bl-metric" if shape["x"][2] != "" else "")
        out = out + write_text(style, x, bottom + 19.0, "middle", number)
    if shape["y"][2] != "":
        out = out + draw_us_ticks(shape["y"], y_axis, frame, True)
    if shape["x"][2] != "":
        out = out + draw_us_ticks(shape["x"], x_axis, frame, False)
    out = out + line("bl-plot-axis", left, bottom, right, bottom)
    out = out + line("bl-plot-axis", left, top, left, bottom)
    name = name_axis(shape["y"][0], shape["y"][1])
    out = out + write_text("bl-plot-name", 4.0, 16.0, "start", name)
    if shape["y"][2] != "":
        out = out + write_text("bl-plot-name bl-us", right, 16.0, "start", shape["y"][2])
    name = name_axis(shape["x"][0], shape["x"][1])
    if shape["x"][2] != "":
        name = name_axis(shape["x"][0], shape["x"][1] + ", " + shape["x"][2])
    return out + write_text(
        "bl-plot-name", right, bottom + (52.0 if shape["x"][2] != "" else 38.0), "end", name
    )


def draw_us_ticks(
    axis: Sequence[Any], metric: Mapping[str, Any], frame: Sequence[float], upright: bool
) -> str:
    """Draw round numbers in the US unit, at the right edge or below the metric ones."""
    low = metric["low"] * axis[3] + axis[4]
    high = metric["high"] * axis[3] + axis[4]
    ticks = list_ticks(low, high, (frame[3] - frame[1]) / 45.0 if upright else 5.0)
    out = ""
    for value in ticks["values"]:
        place = (value - axis[4]) / axis[3]
        number = format_number(value, ticks["places"])
        if upright:
            y = place_on(place, metric, frame[3], frame[1])
            out = out + line("bl-plot-axis bl-us", frame[2], y, frame[2] + 4.0, y)
            out = out + write_text("bl-plot-tick bl-us", frame[2] + 7.0, y + 4.5, "start", number)
        else:
            x = place_on(place, metric, frame[0], frame[2])
            out = out + write_text("bl-plot-tick bl-us", x, frame[3] + 33.0, "middle", number)
    return out


def draw_spread(
    spread: Sequence[Sequence[float]],
    x_axis: Mapping[str, Any],
    y_axis: Mapping[str, Any],
    frame: Sequence[float],
) -> str:
    """Draw where a curve may lie when the readings are off; nothing where it is sure."""
    if len(spread) < 2:
        return ""
    forth = ""
    back = ""
    for spot in spread:
        x = at(place_on(spot[0], x_axis, frame[0], frame[2]))
        low = limit(place_on(spot[1], y_axis, frame[3], frame[1]), frame[1], frame[3])
        high = limit(place_on(spot[2], y_axis, frame[3], frame[1]), frame[1], frame[3])
        forth = forth + ("L" if forth != "" else "M") + x + " " + at(low)
        back = "L" + x + " " + at(high) + back
    return '<path class="bl-plot-spread" d="' + forth + back + 'Z"/>'


def draw_heat(
    heat: Sequence[float], axis: Mapping[str, Any], frame: Sequence[float], name: str
) -> str:
    """Define the colours of the course's scale of temperature along the upright axis."""
    hot = place_on(heat[1], axis, frame[3], frame[1])
    cool = place_on(heat[0], axis, frame[3], frame[1])
    ends = ' x1="0" x2="0" y1="' + at(hot) + '" y2="' + at(cool) + '">'
    stops = ""
    for stop in (["0", "hot"], ["0.5", "warm"], ["1", "cool"]):
        stops = stops + '<stop offset="' + stop[0] + '" class="bl-stop-' + stop[1] + '"/>'
    opening = '<linearGradient id="' + name + '-heat" gradientUnits="userSpaceOnUse"'
    return opening + ends + stops + "</linearGradient>"


def list_spots(
    points: Mapping[str, Any],
    x_axis: Mapping[str, Any],
    y_axis: Mapping[str, Any],
    frame: Sequence[float],
) -> Sequence[Any]:
    """List the places of all curves on the drawing, which labels should not cover."""
    spots: list[Any] = []
    for curve in points["curves"]:
        for spot in curve:
            x = place_on(spot[0], x_axis, frame[0], frame[2])
            spots.append([x, place_on(spot[1], y_axis, frame[3], frame[1])])
    return spots


def list_band_places(left: float, right: float, low: float, high: float) -> Sequence[Any]:
    """List where the label of a band may stand: in it, or close above or below a thin one."""
    places: list[Any] = []
    heights = [high + 16.0, low - 7.0]
    if low - high < 20.0:
        heights = [high - 6.0, low + 16.0]
    for y in heights:
        places.append([right - 8.0, y, "end"])
        places.append([left + 8.0, y, "start"])
        places.append([(left + right) / 2.0, y, "middle"])
    return places


def draw_label(
    label: Sequence[Any],
    spots: Sequence[Any],
    taken: list[Any],
    soft: Sequence[Any],
    frame: Sequence[float],
) -> str:
    """Write a label at the first of its best places, and take that place.

    Args:
        label: Text, places as `[x, y, anchor]`, and kind.
        spots: Places of the curves, which it should not cover.
        taken: Boxes it must not cover; its own is added.
        soft: Boxes that only the labels of bands should stand in.
        frame: Of the drawing.
    """
    text = label[0]
    best: Any = None
    best_cost = 1e9
    best_box: list[float] = []
    length = len(text) * LETTER
    for place in label[1]:
        start = place[0]
        if place[2] == "end":
            start = place[0] - length
        elif place[2] == "middle":
            start = place[0] - length / 2.0
        area = [start, place[1] - 12.0, start + length, place[1] + 4.0]
        cost = 0.0
        if area[0] < frame[0] + 2.0 or area[2] > frame[2] + 2.0:
            cost += 200.0
        if area[1] < frame[1] - 12.0 or area[3] > frame[3] - 1.0:
            cost += 200.0
        for other in taken:
            if overlap(area, other):
                cost += 60.0
        for other in soft:
            if label[2] != "band" and overlap(area, other):
                cost += 3.0
        for spot in spots:
            inside_x = area[0] - 2.0 < spot[0] and spot[0] < area[2] + 2.0
            if inside_x and area[1] - 2.0 < spot[1] and spot[1] < area[3] + 2.0:
                cost += 4.0
        if cost < best_cost:
            best = place
            best_cost = cost
            best_box = area
    taken.append(best_box)
    return write_text("bl-plot-label bl-plot-of-" + label[2], best[0], best[1], best[2], text)


def overlap(one: Sequence[float], other: Sequence[float]) -> bool:
    """Say whether two boxes share a place."""
    beside = one[2] < other[0] or other[2] < one[0]
    return not beside and one[1] < other[3] and other[1] < one[3]


def describe_plot(shape: Mapping[str, Any], points: Mapping[str, Any]) -> str:
    """Say in words what a plot shows."""
    says = shape["says"]
    text: str = name_axis(shape["y"][0], shape["y"][1]) + says["against"]
    text = text + name_axis(shape["x"][0], shape["x"][1]) + "."
    for index in range(len(points["curves"])):
        curve = points["curves"][index]
        if len(curve) > 0:
            last = curve[len(curve) - 1]
            text = text + " " + shape["curves"][index][0] + says["from"]
            text = text + say_value(curve[0][1], shape["y"]) + says["at"]
            text = text + say_value(curve[0][0], shape["x"]) + says["to"]
            text = text + say_value(last[1], shape["y"]) + says["at"]
            text = text + say_value(last[0], shape["x"]) + "."
    if any(len(spread) > 1 for spread in points["spread"]):
        text = text + says["spread"]
    for index in range(len(points["bands"])):
        band = points["bands"][index]
        text = text + " " + shape["bands"][index] + says["from"]
        text = text + say_value(band[0], shape["y"]) + says["to"]
        text = text + say_value(band[1], shape["y"]) + "."
    for index in range(len(points["marks"])):
        mark = points["marks"][index]
        text = text + " " + shape["marks"][index] + ": "
        text = text + say_value(mark[1], shape["y"]) + says["at"]
        text = text + say_value(mark[0], shape["x"]) + "."
    return text


def say_value(value: float, axis: Sequence[Any]) -> str:
    """Write a value of an axis with its unit."""
    return join_unit(format_number(value, choose_places(value, "plain", 3)), axis[1])
