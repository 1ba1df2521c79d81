"""How often: the six words an author may write, and the numbers they stand for.

A teacher's judgement, not a measurement; pages say so. `never` and `always` stand near 0 and 1, not
at them, because a chance of exactly 0 or 1 could never be moved by anything seen later.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

FREQUENCIES: Mapping[str, float] = MappingProxyType(
    {
        "always": 0.98,
        "usually": 0.8,
        "often": 0.6,
        "sometimes": 0.3,
        "rarely": 0.08,
        "never": 0.01,
    }
)

COMMONNESS: Mapping[str, float] = MappingProxyType(
    {
        "in-every-second": 0.5,
        "in-every-fifth": 0.2,
        "in-every-tenth": 0.1,
        "in-one-of-twenty": 0.05,
        "in-one-of-fifty": 0.02,
        "in-one-of-hundred": 0.01,
    }
)
"""In how many of all batches a cause acts. A scale of its own: what happens "sometimes" in a class
happens in one batch of twenty or fifty, far less than the 0.3 that the word stands for above."""


def nearest_word(chance: float) -> str:
    """Name the word nearest to a chance, for people who read a number between 0 and 1."""
    return min(FREQUENCIES, key=lambda word: abs(FREQUENCIES[word] - chance))


LIKELIHOODS: tuple[tuple[float, str], ...] = (
    (0.85, "very-likely"),
    (0.6, "likely"),
    (0.3, "quite-possible"),
    (0.1, "possible"),
    (0.0, "unlikely"),
)
"""Keys of what probabilities are called (`likelihood.` in the table of words), each from its least
number on."""


def name_likelihood(probability: float) -> str:
    """Give the key of a probability in words, such as `quite-possible`."""
    return next(key for least, key in LIKELIHOODS if probability >= least)
