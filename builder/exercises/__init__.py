"""Exercises: what is asked of each student, the right answer, and what usual slips lead to.

`ExerciseBook` gives the variants of a course. Each exercise has a finite space of variants; a seed
decides, through a documented generator, which student gets which.
"""

from __future__ import annotations

from builder.exercises.book import PRACTICE, ExerciseBook
from builder.exercises.randomness import SplitMix64, choose_index, make_code, start_generator
from builder.exercises.records import (
    MOST_VARIANTS,
    Body,
    Drawing,
    ExerciseError,
    NumberAnswer,
    SlipAnswer,
    Space,
    Variant,
    letter_of,
)

__all__ = [
    "MOST_VARIANTS",
    "PRACTICE",
    "Body",
    "Drawing",
    "ExerciseBook",
    "ExerciseError",
    "NumberAnswer",
    "SlipAnswer",
    "Space",
    "SplitMix64",
    "Variant",
    "choose_index",
    "letter_of",
    "make_code",
    "start_generator",
]
