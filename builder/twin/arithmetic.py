"""What formulas compute with: the operations where languages differ, and the named functions.

Written once; this module's text is also compiled to JavaScript, so it keeps to the part of Python
that compiles. Numbers are floats in coherent base units. Where a formula has no answer the function
fails with a reason: nothing infinite or undefined is ever handed on.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from builder.twin.primitives import (
    fail,
    has_key,
    product_exceeds,
    raw_atan,
    raw_exp,
    raw_log,
    raw_power,
    raw_sqrt,
)


def divide(a: float, b: float) -> float:
    """Divide; fails on zero in both languages."""
    if b == 0.0:
        fail("it would divide by zero")
    return a / b


def power(base: float, exponent: float) -> float:
    """Raise to a power; fails where the result is not a real, finite number."""
    if base == 0.0 and exponent < 0.0:
        fail("it would divide by zero")
    if base < 0.0 and exponent != exponent // 1.0:
        fail("it would take a root of a negative number")
    return check_finite(raw_power(base, exponent))


def is_above(a: float, b: float) -> bool:
    """Say whether a number lies above another by more than binary numbers are off."""
    return a - b > (take_size(a) + take_size(b)) * 1e-12


def check_finite(value: float) -> float:
    """Hand a number on, or fail where it is infinite or undefined."""
    if value - value != 0.0:
        fail("the result is too large")
    return value


def need(value: Any, label: str) -> Any:
    """Hand on an optional value, or fail where it was left out."""
    if value is None:
        fail(label + " is not given")
    return value


def is_given(value: Any) -> bool:
    """Say whether an optional value was given."""
    return value is not None


def each(rows: Sequence[Any], take: Callable[[Any], Any]) -> list[Any]:
    """Give one value for each row."""
    return [take(row) for row in rows]


def each_if(
    rows: Sequence[Any], keep: Callable[[Any], bool], take: Callable[[Any], Any]
) -> list[Any]:
    """Give one value for each row that is kept."""
    return [take(row) for row in rows if keep(row)]


def take_exp(x: float) -> float:
    """e to a power."""
    if x > 700.0:
        fail("the result is too large")
    return raw_exp(x)


def take_log(x: float) -> float:
    """Natural logarithm."""
    if x <= 0.0:
        fail("it would take the logarithm of a number that is not positive")
    return raw_log(x)


def take_root(x: float) -> float:
    """Square root."""
    if x < 0.0:
        fail("it would take a root of a negative number")
    return raw_sqrt(x)


def take_size(x: float) -> float:
    """The number without its sign."""
    return -x if x < 0.0 else x


def take_floor(x: float) -> float:
    """Largest whole number not above; within rounding error of a whole number, that number."""
    return (x + 1e-9 + take_size(x) * 1e-12) // 1.0


def take_ceiling(x: float) -> float:
    """Smallest whole number not below; within rounding error of a whole number, that number."""
    return -take_floor(-x)


def round_whole(x: float) -> float:
    """Nearest whole number, half away from zero."""
    size = take_floor(take_size(x) + 0.5)
    return -size if x < 0.0 else size


def round_up_to(x: float, step: float) -> float:
    """Next multiple of a step at or above."""
    return take_ceiling(divide(x, step)) * step


def round_down_to(x: float, step: float) -> float:
    """Next multiple of a step at or below."""
    return take_floor(divide(x, step)) * step


def round_to(x: float, step: float) -> float:
    """Nearest multiple of a step, half away from zero."""
    return round_whole(divide(x, step)) * step


def take_sum(values: Sequence[float]) -> float:
    """Sum; of nothing it is 0."""
    total = 0.0
    for value in values:
        total = total + value
    return total


def take_mean(values: Sequence[float]) -> float:
    """Arithmetic mean; fails on nothing."""
    if len(values) == 0:
        fail("there are no rows")
    return take_sum(values) / len(values)


def take_deviation(values: Sequence[float]) -> float:
    """Standard deviation of a sample, divided by n - 1; fails on fewer than two values."""
    if len(values) < 2:
        fail("at least two rows are needed")
    middle = take_mean(values)
    total = 0.0
    for value in values:
        total = total + (value - middle) * (value - middle)
    return raw_sqrt(total / (len(values) - 1))


def take_least(values: Sequence[float]) -> float:
    """Least of the values; fails on nothing."""
    if len(values) == 0:
        fail("there are no rows")
    least = values[0]
    for value in values:
        if value < least:
            least = value
    return least


def take_greatest(values: Sequence[float]) -> float:
    """Greatest of the values; fails on nothing."""
    if len(values) == 0:
        fail("there are no rows")
    greatest = values[0]
    for value in values:
        if value > greatest:
            greatest = value
    return greatest


def count_rows(rows: Sequence[Any]) -> float:
    """Number of rows."""
    return 1.0 * len(rows)


def count_true(values: Sequence[bool]) -> float:
    """How many of the values are true."""
    total = 0.0
    for value in values:
        if value:
            total = total + 1.0
    return total


def is_any(values: Sequence[bool]) -> bool:
    """Say whether one of the values is true."""
    return count_true(values) > 0.0


def is_all(values: Sequence[bool]) -> bool:
    """Say whether all of the values are true."""
    return count_true(values) == len(values)


def take_names(values: Sequence[str]) -> Sequence[str]:
    """Names, in the order of the rows."""
    return values


def to_celsius(kelvin: float) -> float:
    """Degrees Celsius, as a plain number, of a temperature."""
    return kelvin - 273.15


def from_celsius(celsius: float) -> float:
    """The temperature at so many degrees Celsius."""
    return celsius + 273.15


def pass_on(value: float) -> float:
    """The same number, of another kind."""
    return value


def exceeds_exact(limit: float, factors: Sequence[float]) -> bool:
    """Say whether a product exceeds a limit, in exact decimals."""
    return product_exceeds(limit, factors)


def hold_probability(t: float, degrees: float) -> float:
    """Chance that Student's t lies within -t to t, for whole degrees of freedom.

    Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.7.3 and 26.7.4.
    """
    sine = t / raw_sqrt(t * t + degrees)
    cosine_squared = degrees / (t * t + degrees)
    cosine = raw_sqrt(cosine_squared)
    if degrees % 2.0 == 0.0:
        term = 1.0
        total = 1.0
        k = 2.0
        while k <= degrees - 2.0:
            term = term * cosine_squared * (k - 1.0) / k
            total = total + term
            k = k + 2.0
        return sine * total
    angle = raw_atan(t / raw_sqrt(degrees))
    total = 0.0
    if degrees > 1.0:
        term = cosine
        total = cosine
        k = 3.0
        while k <= degrees - 2.0:
            term = term * cosine_squared * (k - 1.0) / k
            total = total + term
            k = k + 2.0
    return (angle + sine * total) * 0.6366197723675814


def t_quantile(degrees: float) -> float:
    """Student's t that 97.5 % of samples stay below, by bisection on the exact sum."""
    whole = round_whole(degrees)
    if whole < 1.0 or whole > 1000.0:
        fail("the number of values is outside 2 to 1001")
    low = 1.9
    high = 13.0
    for _step in range(60):
        middle = (low + high) / 2.0
        if hold_probability(middle, whole) < 0.95:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def table_cell(table: Mapping[str, Any], row: str, column: str) -> Sequence[float]:
    """Least, greatest and middle value of a cell; fails where there is none."""
    rows = table["rows"]
    if not has_key(rows, row):
        fail('there is no row "' + row + '" in ' + table["name"])
    cells = rows[row]
    if not has_key(cells, column):
        fail('the row "' + row + '" of ' + table["name"] + " has no value for " + column)
    cell: Sequence[float] = cells[column]
    return cell


def table_low(table: Mapping[str, Any], row: str, column: str) -> float:
    """Least value of a cell over all its sources."""
    return table_cell(table, row, column)[0]


def table_high(table: Mapping[str, Any], row: str, column: str) -> float:
    """Greatest value of a cell over all its sources."""
    return table_cell(table, row, column)[1]


def table_middle(table: Mapping[str, Any], row: str, column: str) -> float:
    """Middle between the least and the greatest value of a cell over all its sources."""
    return table_cell(table, row, column)[2]


def table_step(table: Mapping[str, Any], at: float, column: str) -> float:
    """Value of the last row whose step does not exceed a value; fails below the first step."""
    chosen = ""
    for step in table["steps"]:
        # Within rounding error of a step counts as that step, so that converted units agree.
        if step[0] <= at + take_size(at) * 1e-12:
            chosen = step[1]
    if chosen == "":
        fail("the value lies below the first step of " + table["name"])
    return table_cell(table, chosen, column)[2]
