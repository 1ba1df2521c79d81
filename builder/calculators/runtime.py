"""Runs a compiled calculator: reads what was typed, checks it, computes, and writes the answer.

The same text runs in Python and, compiled, in the browser: this is the one definition of what an
input may look like, of every message, and of every refusal. It therefore keeps to the part of
Python that compiles: functions over plain mappings, lists, text and floats.

A calculator comes in two parts: `d`, a mapping that describes it (see `compiler`), and `f`, a list
of its formulas as functions of values and tables. A read value is a list of two: the value, and a
message where it could not be read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from builder.figures import (
    NO_BREAK_SPACE,
    SPELLINGS,
    UNITS,
    choose_places,
    convert_from_base,
    format_number,
    format_quantity,
    format_us,
    join_unit,
)
from builder.formulas.arithmetic import check_finite
from builder.formulas.primitives import fail, is_list, is_text, read_failure, read_float

DIMENSIONS: dict[str, str] = {
    "mass": "a mass",
    "volume": "a volume",
    "length": "a length",
    "time": "a time",
    "temperature": "a temperature",
    "difference": "a temperature difference",
    "ratio": "a share or a plain number",
    "power": "a power",
    "energy": "an energy",
    "density": "a density",
    "specific heat": "a specific heat",
    "rate": "a rate",
    "pressure": "a pressure",
    "money": "a price",
    "count": "a number of pieces",
    "molar mass": "a molar mass",
    "molar energy": "an energy per mole",
}
LONGEST_TEXT = 4000
MOST_SAMPLES = 81
DIGITS = "0123456789"
SPACES = " \t\r\n\u00a0\u202f\u2009"


def trim_text(text: str) -> str:
    """Cut spaces of every kind from both ends."""
    start = 0
    end = len(text)
    while start < end and text[start] in SPACES:
        start += 1
    while end > start and text[end - 1] in SPACES:
        end -= 1
    return text[start:end]


def fold_text(text: str) -> str:
    """Lower case, with every run of spaces as one plain space."""
    folded = ""
    for index in range(len(text)):
        sign = text[index]
        if sign in SPACES:
            if folded != "" and folded[len(folded) - 1] != " ":
                folded = folded + " "
        else:
            folded = folded + sign.lower()
    return trim_text(folded)


def sign_at(text: str, index: int) -> str:
    """Give the sign at a place, or "" behind the end."""
    return text[index] if 0 <= index < len(text) else ""


def is_digit(sign: str) -> bool:
    """Say whether a sign is one of the ten digits."""
    return sign != "" and sign in DIGITS


def count_digits(text: str, index: int) -> int:
    """Count the digits from a place on."""
    count = 0
    while is_digit(sign_at(text, index + count)):
        count += 1
    return count


def quote(text: str) -> str:
    """Put what was typed in quotes; long text is cut."""
    if len(text) > 60:
        return "“" + text[0:60] + "…”"
    return "“" + text + "”"


def split_number(text: str) -> Sequence[Any]:
    """Read a number at the start of a text.

    Takes a full stop or a comma as the decimal point, spaces between groups of three, `1/4`, and an
    exponent. A comma in front of exactly three digits could mean either, so it is refused.

    Returns:
        The number or None, the rest of the text, and a message where there is no number.
    """
    index = 0
    digits = ""
    sign = sign_at(text, 0)
    if sign in ("-", "−", "+"):
        if sign != "+":
            digits = "-"
        index = 1
    lead = count_digits(text, index)
    whole = text[index : index + lead]
    index += lead
    if lead > 0 and lead <= 3:
        while (
            sign_at(text, index) != ""
            and sign_at(text, index) in SPACES
            and count_digits(text, index + 1) == 3
        ):
            whole = whole + text[index + 1 : index + 4]
            index += 4
    point = sign_at(text, index)
    fraction = ""
    if point == "," and lead > 0 and lead <= 3 and count_digits(text, index + 1) == 3:
        # 1,234.5 can only be read one way; 1,234 alone cannot.
        groups = ""
        place = index
        while sign_at(text, place) == "," and count_digits(text, place + 1) == 3:
            groups = groups + text[place + 1 : place + 4]
            place += 4
        clear = sign_at(text, place) == "." and count_digits(text, place + 1) > 0
        if clear or len(groups) > 3:
            whole = whole + groups
            index = place
            point = sign_at(text, index)
        elif whole != "0":
            return [
                None,
                "",
                quote(text)
                + " can be read in two ways; write "
                + whole
                + groups
                + " or "
                + whole
                + "."
                + groups,
            ]
    if point in (".", ","):
        length = count_digits(text, index + 1)
        fraction = text[index + 1 : index + 1 + length]
        if length > 0 or lead > 0:
            index += 1 + length
    if whole == "" and fraction == "":
        return [None, text, "there is no number in " + quote(text)]
    digits = digits + (whole if whole != "" else "0")
    if fraction != "":
        digits = digits + "." + fraction
    exponent = sign_at(text, index)
    if exponent in ("e", "E"):
        start = index + 1
        if sign_at(text, start) in ("-", "+"):
            start += 1
        length = count_digits(text, start)
        if length > 0 and length < 4:
            digits = digits + "e" + text[index + 1 : start + length]
            index = start + length
    number = read_float(digits)
    if sign_at(text, index) == "/" and fraction == "" and count_digits(text, index + 1) > 0:
        length = count_digits(text, index + 1)
        under = read_float(text[index + 1 : index + 1 + length])
        if under == 0:
            return [None, text, quote(text) + " divides by zero"]
        number = number / under
        index += 1 + length
    if number - number != 0 or abs(number) > 1e15:
        return [None, text, quote(text) + " is too large"]
    return [number, trim_text(text[index:]), ""]


def find_unit(d: Mapping[str, Any], text: str) -> Any:
    """Give the row of a unit as typed: dimension, factor, offset, symbol; or None."""
    folded = fold_text(text)
    if folded.endswith("."):
        folded = folded[0 : len(folded) - 1]
    if folded in d["units"]:
        return d["units"][folded]
    if folded in SPELLINGS:
        return UNITS[SPELLINGS[folded]]
    return None


def unit_row(d: Mapping[str, Any], unit: str) -> Any:
    """Give the row of a unit named by its key."""
    if unit in d["units"]:
        return d["units"][unit]
    return UNITS[unit]


def describe_dimension_of(name: str) -> str:
    """Name a dimension for a reader, for instance `a mass`."""
    if name in DIMENSIONS:
        return DIMENSIONS[name]
    return "another kind of measure"


def explain_wrong_unit(typed: str, found: str, field: Mapping[str, Any]) -> str:
    """Say that a unit measures something else, and what was probably meant."""
    wanted: str = field["dimension"]
    label: str = field["label"]
    text = quote(typed) + " is " + describe_dimension_of(found) + ", and "
    text = text + label + " is " + describe_dimension_of(wanted) + "."
    if wanted == "volume" and found == "mass":
        text = text + " A weight ounce (oz, 28.35 g) is not a fluid ounce: write mL, or fl oz"
        text = text + " (29.57 mL)."
    if wanted == "mass" and found == "volume":
        text = text + " A fluid ounce (fl oz, 29.57 mL) is not a weight ounce: weigh it, in g or"
        text = text + " oz (28.35 g)."
    if wanted == "temperature" and found == "difference":
        text = text + " Write the temperature itself, in °C or °F."
    if wanted == "ratio":
        text = text + " Write a share such as 2 %."
    return text


def read_measure(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read a number with or without a unit into coherent base units."""
    parts = split_number(typed)
    if parts[2] != "":
        return [None, field["label"] + ": " + parts[2] + "."]
    row = unit_row(d, field["unit"])
    if parts[1] != "":
        found = find_unit(d, parts[1])
        if found is None:
            return [
                None,
                field["label"] + ": " + quote(parts[1]) + " is not a unit known here.",
            ]
        if found[0] == "temperature" and field["dimension"] == "difference":
            # A drop of 10 °F is a drop of 5.56 °C: only the size of a degree counts.
            found = ["difference", found[1], 0.0, found[3]]
        if found[0] != field["dimension"]:
            return [None, explain_wrong_unit(typed, found[0], field)]
        row = found
    value = parts[0] * row[1] + row[2]
    if row[0] == "temperature" and value < 0:
        return [None, field["label"] + ": " + quote(typed) + " lies below absolute zero."]
    return check_bounds(typed, value, field)


def check_bounds(typed: str, value: float, field: Mapping[str, Any]) -> Sequence[Any]:
    """Hand on a value inside its bounds; a hair beside a bound counts as the bound."""
    slack = abs(value) * 1e-12
    low = field["low"]
    high = field["high"]
    inside = True
    if low is not None:
        inside = value > low + slack if field["low_open"] else value >= low - slack
    if inside and high is not None:
        inside = value < high - slack if field["high_open"] else value <= high + slack
    if inside:
        return [value, ""]
    text = field["label"] + " must be " + field["bounds"] + "; " + quote(typed) + " is outside."
    if field["note"] != "":
        text = text + " " + field["note"]
    return [None, text]


def read_count(typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read a whole number."""
    parts = split_number(typed)
    if parts[2] != "":
        return [None, field["label"] + ": " + parts[2] + "."]
    if parts[1] != "":
        return [None, field["label"] + " is a number of pieces; write the number alone."]
    if parts[0] != parts[0] // 1.0:
        return [None, field["label"] + " is a whole number; " + quote(typed) + " is not."]
    return check_bounds(typed, parts[0], field)


def read_choice(typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read one of the choices: by id, by label, or by another name for it."""
    folded = fold_text(typed)
    names = ""
    for choice in field["choices"]:
        for name in choice[2]:
            if name == folded:
                return [choice[0], ""]
        names = names + (", " if names != "" else "") + choice[0]
    return [
        None,
        field["label"] + ": there is no " + quote(typed) + "; choose one of " + names + ".",
    ]


def read_amount(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read any measure; gives a list of the value and its dimension in place of the value."""
    parts = split_number(typed)
    if parts[2] != "":
        return [None, field["label"] + ": " + parts[2] + "."]
    dimension = "count"
    value = parts[0]
    if parts[1] != "":
        row = find_unit(d, parts[1])
        if row is None or row[0] not in ("mass", "volume", "length"):
            return [
                None,
                field["label"]
                + ": "
                + quote(parts[1])
                + " is not a unit of mass, volume or length.",
            ]
        dimension = row[0]
        value = value * row[1]
    checked = check_bounds(typed, value, field)
    if checked[1] != "":
        return checked
    return [[value, dimension], ""]


def read_one(d: Mapping[str, Any], typed: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read a field or a cell of a row."""
    text = trim_text(typed)
    if text == "":
        if field["optional"]:
            return [None, ""]
        return [None, field["label"] + " is empty."]
    if len(text) > LONGEST_TEXT:
        return [None, field["label"] + ": the text is too long."]
    kind = field["kind"]
    if kind == "quantity" or kind == "number":
        return read_measure(d, text, field)
    if kind == "count":
        return read_count(text, field)
    if kind == "choice":
        return read_choice(text, field)
    if kind == "amount":
        return read_amount(d, text, field)
    if len(text) > 80:
        return [None, field["label"] + ": the text is too long."]
    return [text, ""]


def cut_text(text: str, signs: str) -> list[str]:
    """Cut a text at each of the signs."""
    parts: list[str] = []
    part = ""
    for index in range(len(text)):
        if text[index] in signs:
            parts.append(part)
            part = ""
        else:
            part = part + text[index]
    parts.append(part)
    return parts


def split_rows(text: str, field: Mapping[str, Any]) -> Sequence[Any]:
    """Cut typed rows apart; gives the list of rows as text, and a message.

    Rows stand apart by `;` or line ends, else by commas, else (numbers alone) by spaces. A comma
    between two digits may be a decimal one, so it is only read where `;` tells them apart.
    """
    if len(text) > LONGEST_TEXT:
        return [None, field["label"] + ": the text is too long."]
    if ";" in text or "\n" in text:
        return [cut_text(text, ";\n"), ""]
    for index in range(len(text)):
        before = is_digit(sign_at(text, index - 1))
        if text[index] == "," and before and is_digit(sign_at(text, index + 1)):
            return [
                None,
                field["label"]
                + ": is the comma in "
                + quote(text)
                + " a decimal one? Write a full stop for decimals, or set rows apart with “;”.",
            ]
    if "," in text or len(field["columns"]) > 1 or field["columns"][0]["kind"] == "text":
        return [cut_text(text, ","), ""]
    rows: list[str] = []
    for part in cut_text(text, SPACES):
        starts = sign_at(part, 0)
        if part == "":
            continue
        if len(rows) > 0 and not is_digit(starts) and starts not in ("-", "−", "+", "."):
            rows[len(rows) - 1] = rows[len(rows) - 1] + " " + part
        else:
            rows.append(part)
    return [rows, ""]


def read_rows(d: Mapping[str, Any], typed: Any, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read rows, typed as text or given as a list of mappings from column to text."""
    rows: list[Any] = []
    if is_list(typed):
        sources: Any = typed
    else:
        parts = split_rows(trim_text(typed), field)
        if parts[1] != "":
            return parts
        sources = parts[0]
    for source in sources:
        cells = split_cells(source, field)
        if len(cells) == 0:
            continue
        read = read_row(d, cells, field)
        if read[1] != "":
            where = field["label"] + ", row " + str(len(rows) + 1)
            if cells[0] != "" and len(cells) > 1:
                where = where + " (" + quote(cells[0]) + ")"
            return [None, where + ": " + read[1]]
        rows.append(read[0])
    if len(rows) == 0 and field["optional"]:
        return [None, ""]
    if len(rows) < field["least"]:
        if len(rows) == 0:
            return [None, field["label"] + ": there are no rows."]
        return [None, field["label"] + ": at least " + str(field["least"]) + " rows are needed."]
    if len(rows) > field["most"]:
        return [None, field["label"] + ": at most " + str(field["most"]) + " rows are read."]
    return [rows, ""]


def split_cells(source: Any, field: Mapping[str, Any]) -> list[str]:
    """Give the cells of a row as text; none for an empty row."""
    cells: list[str] = []
    filled = False
    if is_text(source):
        for part in cut_text(source, ":"):
            cells.append(trim_text(part))
    else:
        for column in field["columns"]:
            cell = ""
            if column["id"] in source and source[column["id"]] is not None:
                cell = to_text(source[column["id"]])
            cells.append(trim_text(cell))
    for cell in cells:
        if cell != "":
            filled = True
    return cells if filled else []


def to_text(value: Any) -> str:
    """Give text as it is, and anything else as text."""
    return value if is_text(value) else str(value)


def read_row(d: Mapping[str, Any], cells: Sequence[str], field: Mapping[str, Any]) -> Sequence[Any]:
    """Read the cells of one row into a mapping from column to value."""
    columns = field["columns"]
    row: dict[str, Any] = {}
    shared = ""
    shared_label = ""
    if len(cells) > len(columns):
        return [None, "there are more parts than columns (" + describe_columns(field) + ")."]
    for index in range(len(columns)):
        column = columns[index]
        if index >= len(cells) and not column["optional"]:
            return [
                None,
                column["label"] + " is missing; a row is written " + describe_columns(field) + ".",
            ]
        read = read_one(d, cells[index] if index < len(cells) else "", column)
        if read[1] != "":
            return read
        value = read[0]
        if column["kind"] == "amount" and value is not None:
            if shared != "" and value[1] != shared:
                return [
                    None,
                    shared_label
                    + " is "
                    + describe_dimension_of(shared)
                    + " and "
                    + column["label"]
                    + " is "
                    + describe_dimension_of(value[1])
                    + "; measure both in the same way.",
                ]
            shared = value[1]
            shared_label = column["label"]
            value = value[0]
        row[column["id"]] = value
    return [row, ""]


def describe_columns(field: Mapping[str, Any]) -> str:
    """Name the columns as a row is typed, `oil : mass`."""
    names = ""
    for column in field["columns"]:
        names = names + (" : " if names != "" else "") + column["label"]
    return names


def read_field(d: Mapping[str, Any], typed: Any, field: Mapping[str, Any]) -> Sequence[Any]:
    """Read one input."""
    if field["kind"] == "rows":
        return read_rows(d, typed if is_list(typed) else to_text(typed), field)
    return read_one(d, to_text(typed), field)


def read_inputs(d: Mapping[str, Any], f: Sequence[Any], raw: Mapping[str, Any]) -> Sequence[Any]:
    """Read all inputs; those left out take their defaults.

    Returns:
        The values by name, and a list of errors, one a field.
    """
    errors: list[dict[str, str]] = []
    values: dict[str, Any] = {}
    messages: dict[str, str] = {}
    for name in d["constants"]:
        values[name] = d["constants"][name]
    for field in d["inputs"]:
        values[field["id"]] = field["value"]
    for name in raw:
        if not has_input(d, name):
            errors.append(
                {"input": name, "message": "There is no input named " + quote(name) + "."}
            )
    for field in d["inputs"]:
        name = field["id"]
        if name in raw and raw[name] is not None:
            read = read_field(d, raw[name], field)
            if read[1] != "":
                messages[name] = read[1]
            else:
                values[name] = read[0]
    for field in d["inputs"]:
        name = field["id"]
        if field["shown"] >= 0 and not f[field["shown"]](values, d["tables"]):
            # What is hidden is not asked for: an unreadable entry there does not matter.
            continue
        if name in messages:
            errors.append({"input": name, "message": messages[name]})
    return [values, errors]


def has_input(d: Mapping[str, Any], name: str) -> bool:
    """Say whether a calculator has an input of this name."""
    found = False
    for field in d["inputs"]:
        if field["id"] == name:
            found = True
    return found


def run_step(
    d: Mapping[str, Any], f: Sequence[Any], values: dict[str, Any], step: Sequence[Any]
) -> Any:
    """Run one step of the plan; gives an error or None, and puts values where they belong."""
    try:
        if step[0] == "refusal":
            if f[step[2]](values, d["tables"]):
                return {"input": step[1], "message": fill_message(d, step[3], values)}
            return None
        values[step[1]] = None
        if step[3] >= 0 and not f[step[3]](values, d["tables"]):
            return None
        value = f[step[2]](values, d["tables"])
        if step[5]:
            check_finite(value)
        values[step[1]] = value
    except Exception as problem:
        reason = read_failure(problem)
        if step[0] == "refusal":
            return {"input": step[1], "message": "There is no answer: " + reason + "."}
        return {
            "input": step[4],
            "message": step[6] + ": there is no answer, because " + reason + ".",
        }
    return None


def compute(d: Mapping[str, Any], f: Sequence[Any], values: dict[str, Any]) -> Any:
    """Run the whole plan; gives an error or None."""
    for step in d["steps"]:
        problem = run_step(d, f, values, step)
        if problem is not None:
            return problem
    return None


def calculate(d: Mapping[str, Any], f: Sequence[Any], raw: Mapping[str, Any]) -> dict[str, Any]:
    """Work out all answers.

    Args:
        d: The calculator's description.
        f: Its formulas.
        raw: What was typed, by input; rows as text or as a list of mappings.

    Returns:
        `{"outputs": {name: {"value", "unit", "text", "us"}}, "warnings": [{"id", "message"}]}`, or
        `{"errors": [{"input", "message"}]}` where there is no answer.
    """
    read = read_inputs(d, f, raw)
    values = read[0]
    if len(read[1]) > 0:
        return {"errors": read[1]}
    problem = compute(d, f, values)
    if problem is not None:
        return {"errors": [problem]}
    outputs: dict[str, Any] = {}
    warnings: list[dict[str, str]] = []
    answer: Any = None
    try:
        for output in d["outputs"]:
            answer = write_output(d, f, values, output)
            if answer is not None:
                outputs[output["id"]] = answer
        for warning in d["warnings"]:
            if f[warning[1]](values, d["tables"]):
                warnings.append({"id": warning[0], "message": fill_message(d, warning[2], values)})
    except Exception as failure:
        reason = read_failure(failure)
        return {"errors": [{"input": "", "message": "There is no answer: " + reason + "."}]}
    return {"outputs": outputs, "warnings": warnings}


def write_output(
    d: Mapping[str, Any], f: Sequence[Any], values: Mapping[str, Any], output: Mapping[str, Any]
) -> Any:
    """Write one answer, or None where it is left out."""
    if output["shown"] >= 0 and not f[output["shown"]](values, d["tables"]):
        return None
    if output["form"] == "text":
        for choice in output["cases"]:
            if choice[0] < 0 or f[choice[0]](values, d["tables"]):
                text = fill_message(d, choice[1], values)
                return {"value": text, "unit": "", "text": text, "us": ""}
        return None
    value = values[output["id"]]
    if output["form"] == "names":
        return {"value": value, "unit": "", "text": join_names(value, output["empty"]), "us": ""}
    row = unit_row(d, output["unit"])
    magnitude = convert_from_base(value, row)
    if abs(magnitude) >= 1e15:
        fail(output["label"] + " is too large")
    other = ""
    if output["us"]:
        other = format_us(value, output["unit"], output["style"], output["digits"])
    return {
        "value": magnitude,
        "unit": output["written"],
        "text": write_quantity(d, value, output["unit"], output["style"], output["digits"]),
        "us": other,
    }


def write_quantity(d: Mapping[str, Any], value: float, unit: str, style: str, digits: int) -> str:
    """Write a quantity in a unit of the calculator's own, or in one that everyone knows."""
    if unit in d["units"]:
        row = d["units"][unit]
        magnitude = convert_from_base(value, row)
        return join_unit(format_number(magnitude, choose_places(magnitude, style, digits)), row[3])
    return format_quantity(value, unit, style, digits)


def join_names(names: Sequence[str], empty: str) -> str:
    """Join names as a sentence does: `a, b and c`."""
    if len(names) == 0:
        return empty
    text = names[0]
    for index in range(1, len(names)):
        text = text + (" and " if index == len(names) - 1 else ", ") + names[index]
    return text


def fill_message(d: Mapping[str, Any], parts: Sequence[Any], values: Mapping[str, Any]) -> str:
    """Put quantities into a message; a part is text, or a list that holds a name."""
    text = ""
    for part in parts:
        text = text + (part if is_text(part) else show_value(d, part[0], values))
    return text


def show_value(d: Mapping[str, Any], name: str, values: Mapping[str, Any]) -> str:
    """Write a value for a message, with the US side in brackets."""
    show = d["display"][name]
    value = values[name]
    if value is None:
        return "nothing"
    if show[0] == "names":
        return join_names(value, show[1])
    if show[0] == "choice":
        for choice in show[1]:
            if choice[0] == value:
                return to_text(choice[1])
    if show[0] == "text" or show[0] == "choice":
        return to_text(value)
    text = write_quantity(d, value, show[1], show[2], show[3])
    other = format_us(value, show[1], show[2], show[3])
    return text if other == "" else text + " (" + other.replace(" ", NO_BREAK_SPACE) + ")"


def sample_plot(d: Mapping[str, Any], f: Sequence[Any], raw: Mapping[str, Any]) -> Any:
    """Work out the points of a calculator's plot, in the units of its axes.

    Returns:
        `{"curves": [[[x, y], ...]], "bands": [[low, high]], "marks": [[x, y]], "x": [start, end]}`
        in the order the calculator lists them, or None where there is no answer. A place where a
        curve has no value is left out of it.
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
    for _curve in plot["curves"]:
        curves.append([])
    for index in range(MOST_SAMPLES):
        x = start + (end - start) * index / (MOST_SAMPLES - 1)
        values[plot["name"]] = x
        if plot["again"]:
            for step in d["steps"]:
                if step[0] != "refusal":
                    run_step(d, f, values, step)
        for place in range(len(plot["curves"])):
            try:
                y = read_point(f[plot["curves"][place]], values, d, y_row)
                curves[place].append([convert_from_base(x, x_row), y])
            except Exception as failure:
                read_failure(failure)
    return {
        "x": [convert_from_base(start, x_row), convert_from_base(end, x_row)],
        "curves": curves,
        "bands": bands,
        "marks": marks,
    }


def read_point(
    formula: Callable[..., Any], values: Mapping[str, Any], d: Mapping[str, Any], row: Sequence[Any]
) -> float:
    """Give a formula's value in the unit of an axis."""
    return convert_from_base(check_finite(formula(values, d["tables"])), row)
