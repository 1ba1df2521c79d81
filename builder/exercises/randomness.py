"""The documented source of every random choice: the same seed always gives the same sheet.

SplitMix64 (Steele, Lea and Flood 2014, "Fast splittable pseudorandom number generators", OOPSLA):
a 64-bit counter that grows by a fixed odd number, each value stirred twice by shift, exclusive or
and multiplication. It is started with the first eight bytes of SHA-256 (FIPS 180-4) of a text that
names what is drawn. Nothing here depends on Python's own generator or hashes, which may change.
"""

from __future__ import annotations

import hashlib
import math

_MASK = (1 << 64) - 1
_GAMMA = 0x9E3779B97F4A7C15
ALPHABET = "ABCDEFGHJKLMNPQRTUVWXY34679"
"""Letters and digits of check codes, without those that look alike (0 O, 1 I, 2 Z, 5 S, 8 B)."""
CODE_LENGTH = 5


class SplitMix64:
    """A stream of 64-bit numbers.

    Example:
        `SplitMix64(1234567).draw()` is 6457827717110365317.
    """

    def __init__(self, state: int) -> None:
        self._state = state & _MASK

    def draw(self) -> int:
        """Give the next number, 0 to 2**64 - 1."""
        self._state = (self._state + _GAMMA) & _MASK
        value = self._state
        value = ((value ^ (value >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
        value = ((value ^ (value >> 27)) * 0x94D049BB133111EB) & _MASK
        return value ^ (value >> 31)

    def draw_below(self, limit: int) -> int:
        """Give a number from 0 to `limit` - 1, each as likely.

        Args:
            limit: 1 to 2**64. Draws at the end that would favour small numbers are thrown away.
        """
        if not 1 <= limit <= _MASK + 1:
            raise ValueError(f"cannot draw below {limit}")
        fair = (_MASK + 1) - (_MASK + 1) % limit
        while True:
            value = self.draw()
            if value < fair:
                return value % limit


def hash_text(text: str) -> int:
    """Turn a text into the 64-bit number a generator starts with."""
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")


def start_generator(seed: str, *names: str) -> SplitMix64:
    """Start the generator of one thing that is drawn.

    Args:
        seed: The seed the teacher chose, or the fixed one of the page.
        names: What is drawn, for instance lesson and exercise.
    """
    return SplitMix64(hash_text("/".join((seed, *names))))


def make_code(seed: str, *names: str) -> str:
    """Give the check code of something made from a seed: five letters and digits.

    The same names and seed always give the same code, so that a sheet finds its line in the key,
    and a sheet made from another seed is noticed.
    """
    generator = start_generator(seed, "code", *names)
    return "".join(ALPHABET[generator.draw_below(len(ALPHABET))] for _ in range(CODE_LENGTH))


def choose_index(seed: str, lesson: str, exercise: str, total: int, number: int) -> int:
    """Choose the variant of one exercise for one student.

    Variants are numbered; student `number` gets `start + number * step`, counted round. The step
    has no divisor in common with the total, so that neighbours always differ and no variant comes
    twice before each has come once.

    Args:
        seed: The teacher's seed.
        lesson: Id of the lesson.
        exercise: Id of the exercise.
        total: How many variants there are, at least 1.
        number: The student, from 0 on.

    Returns:
        The variant's index, 0 to `total` - 1.
    """
    generator = start_generator(seed, lesson, exercise)
    start = generator.draw_below(total)
    step = 1
    if total > 2:
        step = 1 + generator.draw_below(total - 1)
        while math.gcd(step, total) != 1:
            step = 1 + generator.draw_below(total - 1)
    return (start + number * step) % total
