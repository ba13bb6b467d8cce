"""What a property test hands in where something else is asked for."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import strategies as st


def each_wrong_thing() -> tuple[list[Any], list[Callable[[], Any]]]:
    """Return things of a wrong type, shape or size, and how to make those that can be used up."""
    deep: list[Any] = []
    for _ in range(30):
        deep = [deep]
    plain = [
        None, True, False, np.bool_(True), 1j, np.complex128(1j), 10**400, -(10**400), 2**63,
        float("nan"), float("inf"), float("-inf"), -0.0, 5e-324, -5e-324, 1e-310, 1e-200, 1e200,
        1.7976931348623157e308, -1e308, np.float64("nan"), np.float32(1.5), np.float16(0.25),
        np.longdouble(2), np.int8(-3), np.uint64(2**64 - 1), np.datetime64("2001-01-01"),
        Decimal("1.5"), Decimal("NaN"), Fraction(1, 3), Fraction(10**400, 3), "", " ", "1.5", "\0",
        "a\0b", "\ud800", "🦆", "nan", "1e999", "<script>", "=1+1", "x" * 5000, b"", b"\xff\x00",
        bytearray(b"1"), (), [], {}, [1], [1.0, 2.0], (1, 2, 3), [[1, 2], [3]], {"a": 1}, {1: 2},
        {None: None}, frozenset({1}), range(3), deep, Ellipsis, object(), int, len, Path("x"),
    ]  # fmt: skip
    fresh: list[Callable[[], Any]] = [
        lambda: np.array([]), lambda: np.zeros((0, 3)), lambda: np.array(1.0),
        lambda: np.array([1.0, np.nan]), lambda: np.zeros((2, 3)), lambda: np.ones((2, 2, 2)),
        lambda: np.array([np.inf]), lambda: np.array(["a", "b"]), lambda: np.array([None, 1]),
        lambda: np.array([1j]), lambda: np.array([True]), lambda: np.ones(36), lambda: np.ones(3),
        lambda: np.ma.masked_array([1.0, 2.0], [True, False]), lambda: iter([1.0, 2.0]),
        lambda: (each for each in (1, 2)), lambda: {"a": 1}.values(), lambda: memoryview(b"12"),
        lambda: np.zeros(3, dtype=[("x", float)]), lambda: np.full(3, 1e308),
    ]  # fmt: skip
    return plain, fresh


def wrong_things() -> st.SearchStrategy[Any]:
    """Things of a wrong type, shape or size; each is made anew, since some can be used up."""
    plain, fresh = each_wrong_thing()
    return st.one_of(
        st.sampled_from(plain),
        st.sampled_from(fresh).map(lambda make: make()),
        st.floats(),
        st.integers(),
        st.text(max_size=12),
    )
