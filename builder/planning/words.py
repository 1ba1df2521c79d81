"""Dates, times of day and prices in words, for pages and papers alike."""

from __future__ import annotations

from datetime import date, datetime

from builder.planning.calendar import move_on
from builder.twin import number_format
from builder.words import Words, load_words


def write_date(day: date, words: Words | None = None) -> str:
    """Write a date for people: `Thursday 1 October 2026`.

    Args:
        day: The date.
        words: Our words; English where left out, as at the terminal.
    """
    text = (words or load_words("en")).text
    return text(
        "date.full",
        weekday=text(f"date.day-{day.weekday()}"),
        day=day.day,
        month=text(f"date.month-{day.month}"),
        year=day.year,
    )


def write_clock(start: datetime, seconds: float) -> str:
    """Give the time of day so long after a session begins: `19:05`."""
    return f"{move_on(start, seconds):%H:%M}"


def write_moment(moment: datetime, words: Words | None = None) -> str:
    """Write a time for people: `Thursday 1 October 2026, 19:05`."""
    return f"{write_date(moment.date(), words)}, {moment:%H:%M}"


def write_price(amount: float, currency: str) -> str:
    """Write an amount of money, so that a column of them lines up: `6.00 EUR`.

    Args:
        amount: In the currency.
        currency: ISO 4217 code.
    """
    places = 0 if currency == "JPY" else 2  # the yen has no smaller unit in use
    return number_format.join_unit(number_format.format_number(amount, places), currency)
