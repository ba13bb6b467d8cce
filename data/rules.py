"""The one form of every refusal and every caution, used by both packages.

A refusal is a `Refused`, a ValueError that reads *name must be rule; got value* and carries the
three. A Caution travels in a result beside the number it belongs to.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, fields
from numbers import Integral, Real
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
UNSEEN = {"Cc", "Cs", "Zl", "Zp"}
TURNING = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""Signs that turn the direction in which text runs (Unicode's bidirectional controls)."""


@dataclass(frozen=True, kw_only=True)
class Caution:
    """A remark that a result carries when it leaves the tried range.

    ``key`` names the kind of caution (stable, for tests and the page), ``text`` is the
    sentence that the maker reads.
    """

    key: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """Between what a number has to lie: ``low`` and ``high``, None for no bound, in SI."""

    low: float | None
    high: float | None


class Refused(ValueError):  # noqa: N818 (what happened, in the words of the page)
    """A ValueError that reads *name must be rule; got value*.

    ``name`` is what was refused, ``rule`` what it must be, ``got`` the value as it is shown. Code
    decides by these, never by the sentence. ``bounds`` are those of a number that had some.
    """

    def __init__(self, name: str, rule: str, got: str, bounds: Bounds | None = None) -> None:
        super().__init__(name, rule, got)
        self.name, self.rule, self.got, self.bounds = name, rule, got, bounds

    def __str__(self) -> str:
        return f"{self.name} must be {self.rule}; got {self.got}"


def refuse(name: str, rule: str, got: object) -> Refused:
    """Return the refusal *name must be rule; got value* (for the caller to raise)."""
    try:
        words = repr(got) if isinstance(got, str) else str(got)
    except (ValueError, RecursionError):
        # a whole number of thousands of digits, or lists too deep to be written down
        words = f"a very large {type(got).__name__}"
    return Refused(name, rule, shown(words[:80]))


def shown(text: str) -> str:
    """Return a text with every sign that steers or turns text written out."""
    return "".join(ascii(sign)[1:-1] if unseen(sign) else sign for sign in text)


def check_number(
    name: str,
    value: object,
    *,
    above: float | None = None,
    least: float | None = None,
    below: float | None = None,
    most: float | None = None,
    unit: str = "",
) -> float:
    """Return ``value`` as a float if it is a finite real number within the bounds.

    Parameters
    ----------
    name : str
        What the number is called in the refusal.
    value : object
        Any real number; bool, text, complex, NaN and infinity are refused.
    above, least, below, most : float, optional
        Strict and inclusive bounds. [unit]
    unit : str
        Unit of the bounds, for the refusal only.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.
    """
    rule = _rule_text(above, least, below, most, unit)
    # numpy counts a length of time among the whole numbers
    if isinstance(value, (bool, np.timedelta64)) or not isinstance(value, Real):
        raise refuse(name, rule, value)
    try:
        number = float(value)
    except OverflowError:
        raise refuse(name, rule, "a number too large for a float") from None
    inside = (
        math.isfinite(number)
        and (above is None or number > above)
        and (least is None or number >= least)
        and (below is None or number < below)
        and (most is None or number <= most)
    )
    if not inside:
        refused = refuse(name, rule, value)
        low, high = (above if least is None else least), (below if most is None else most)
        refused.bounds = Bounds(low=low, high=high)
        raise refused
    return number


def check_numbers(
    name: str,
    value: object,
    *,
    least: float,
    most: float,
    unit: str = "",
    longest: int | None = None,
) -> Array:
    """Return ``value`` as a new float array of its own shape, every number within the bounds.

    Parameters
    ----------
    name : str
        What the numbers are called in the refusal.
    value : object
        A number or an array of any shape that is not empty; text, bool, complex, ragged lists,
        NaN and infinity are refused.
    least, most : float
        Inclusive bounds. [unit]
    unit : str
        Unit of the bounds, for the refusal only.
    longest : int, optional
        How many numbers there may be, where each of them takes memory.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.
    """
    rule = _rule_text(None, least, None, most, unit)
    try:
        raw = np.asarray(value)
    except (TypeError, ValueError, OverflowError):
        raise refuse(name, rule, type(value).__name__) from None
    if raw.dtype.kind not in "iuf" or raw.size == 0:
        raise refuse(name, rule, value)
    if longest is not None and raw.size > longest:
        raise refuse(name, f"at most {longest} numbers", raw.size)
    with np.errstate(over="ignore"):
        numbers = np.array(raw, dtype=np.float64)
    lowest, highest = float(numbers.min()), float(numbers.max())
    if not (lowest >= least and highest <= most):
        raise refuse(name, rule, value if numbers.ndim == 0 else f"{lowest:g} to {highest:g}")
    return numbers


def check_whole(name: str, value: object, *, least: int, most: int) -> int:
    """Return ``value`` as an int if it is a whole number from ``least`` to ``most``."""
    number = check_number(name, value, least=least, most=most)
    if number != int(number):
        raise refuse(name, f"a whole number from {least} to {most}", value)
    return int(number)


def check_choice(name: str, value: object, choices: Sequence[str]) -> str:
    """Return ``value`` if it is one of ``choices``; ValueError otherwise."""
    if not isinstance(value, str) or value not in choices:
        raise refuse(name, "one of " + ", ".join(choices), value)
    return value


def check_kind(name: str, value: object, kind: type | tuple[type, ...], rule: str) -> None:
    """Raise the ValueError if ``value`` is not an instance of ``kind``."""
    if not isinstance(value, kind):
        raise refuse(name, rule, type(value).__name__)


def check_name(name: str, value: object) -> str:
    """Return ``value`` if it is a text of 1 to 80 characters in one line, see `check_text`."""
    return check_text(name, value, 80)


def check_text(
    name: str, value: object, most: int, *, empty: bool = False, lines: bool = False
) -> str:
    """Return a text that can be kept, shown and printed as it is.

    Control signs, half characters (surrogates) and signs that turn what stands beside them are
    refused; line breaks and tabs are taken only if ``lines``, nothing at all if ``empty``.
    """
    rule = f"a text of {0 if empty else 1} to {most} characters"
    if not isinstance(value, str) or len(value) > most or not (empty or value.strip()):
        raise refuse(name, rule, value if isinstance(value, str) else type(value).__name__)
    for sign in value:
        if unseen(sign) and not (lines and sign in "\n\r\t"):
            raise refuse(name, "a text without control signs", sign)
    return value


def unseen(sign: str) -> bool:
    """Say whether a sign steers or turns text, or breaks its line, instead of standing in it."""
    return unicodedata.category(sign) in UNSEEN or sign in TURNING


def plain_numbers(thing: Any) -> None:
    """Make int or float of every other real number in the fields of a checked, frozen object.

    A Fraction or a narrow numpy number that passed its check would spoil the arrays later on.
    """
    for each in fields(thing):
        value = getattr(thing, each.name)
        if isinstance(value, Real) and not isinstance(value, bool):
            plain = int(value) if isinstance(value, Integral) else float(value)
            object.__setattr__(thing, each.name, plain)


def _rule_text(
    above: float | None, least: float | None, below: float | None, most: float | None, unit: str
) -> str:
    parts = [
        f"{word} {float(bound):g}{' ' + unit if unit else ''}"
        for word, bound in (
            ("above", above),
            ("at least", least),
            ("below", below),
            ("at most", most),
        )
        if bound is not None
    ]
    return "a finite number" + (" " + " and ".join(parts) if parts else "")
