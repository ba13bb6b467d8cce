"""Call the doors of a package with admitted and with spoilt arguments, and judge what comes back.

A door is what a package exports and what reads texts and files of strangers. It gives a finite
result or a refusal that names the argument; it changes none of its arguments. What is behind the
doors gets what they have checked.
"""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import os
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from numbers import Number
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from data.page.form import RefusedFieldsError
from data.rules import Refused
from data.store.folder import StoreError
from tests.tree import modules

Strategy = st.SearchStrategy[Any]
Names = str | tuple[str, ...]
Given = Mapping[Names, Strategy]
UNLIMITED = {
    "Elastomer.saturation_stress", "Dye.saturation", "PoseSample.sag_limit", "Check.value",
    "Window.low", "Window.high",
}  # fmt: skip
"""Fields in which infinity means without limit, or of a sag that the limb hangs slack."""


def quiet(examples: int) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return the decorator of a property test: the same examples every time, no deadline.

    LIMB_TINT_EXAMPLES times as many are tried (2, 0.5), other ones under another LIMB_TINT_SEED.
    """
    factor, number = os.environ.get("LIMB_TINT_EXAMPLES", "1"), os.environ.get("LIMB_TINT_SEED")
    tried = settings(
        max_examples=max(round(examples * float(factor)), 1),
        derandomize=True,
        database=None,
        phases=[Phase.generate, Phase.shrink],
        deadline=None,
        print_blob=True,
        suppress_health_check=list(HealthCheck),
    )
    return tried if number is None else lambda test: seed(int(number))(tried(test))


def door(package: str, name: str) -> Callable[..., Any]:
    """Return the function or class of that name, in whichever module of the package it stands."""
    public = importlib.import_module(package)
    if name in public_names(public):
        return getattr(public, name)
    found = [
        vars(module)[name]
        for module in modules(package).values()
        if getattr(vars(module).get(name), "__module__", None) == module.__name__
    ]
    assert len(found) == 1, f"{package} has {len(found)} things called {name}"
    return found[0]


def public_names(package: ModuleType) -> list[str]:
    """Return the names that a package hands out: those it lists, or all that are no modules."""
    own = [name for name, thing in vars(package).items() if not isinstance(thing, ModuleType)]
    return sorted(getattr(package, "__all__", [name for name in own if not name.startswith("_")]))


def exported(package: ModuleType) -> list[str]:
    """Return the functions and checked classes that a package exports.

    A class without checks of its own is a result; nothing is typed into it.
    """
    things = {name: getattr(package, name) for name in public_names(package)}
    checked = {n: t for n, t in things.items() if inspect.isfunction(inspect.unwrap(t))} | {
        n: t for n, t in things.items() if isinstance(t, type) and "__post_init__" in vars(t)
    }
    return sorted(checked)


def calls(function: Callable[..., Any], common: Given, special: Given) -> Strategy:
    """Return the admitted arguments of a door by name, looked up in two tables, special first.

    A key of several names is for arguments that have to fit each other. An argument that stands
    in neither table is a KeyError: give it something.
    """
    wanted = list(inspect.signature(function).parameters)
    left, chosen = set(wanted), {}
    for table in (special, common):
        for names in sorted(table, key=lambda names: isinstance(names, str)):
            several = (names,) if isinstance(names, str) else names
            if left.issuperset(several):
                chosen[several] = table[names]
                left -= set(several)
    if left:
        raise KeyError(f"nothing to hand to {function.__name__} as {sorted(left)}")
    # in the order of the function, so that the same examples come whatever the table's order
    ordered = sorted(chosen, key=lambda names: wanted.index(names[0]))
    return st.tuples(*(chosen[names] for names in ordered)).map(
        lambda drawn: {
            name: value
            for names, values in zip(ordered, drawn, strict=True)
            for name, value in zip(names, (values,) if len(names) == 1 else values, strict=True)
        }
    )


def judge(function: Callable[..., Any], **arguments: Any) -> Any:
    """Call and judge; return the result, or the refusal."""
    before = {name: trace(value) for name, value in arguments.items()}
    try:
        result = function(**arguments)
    except (Refused, RefusedFieldsError, StoreError) as refusal:
        assert str(refusal)
        result = refusal
    assert before == {name: trace(value) for name, value in arguments.items()}, "changed"
    if not isinstance(result, Exception):
        for place, number in numbers_in(result):
            assert np.isfinite(number).all(), f"result{place} = {number}"
    return result


def check_admitted(function: Callable[..., Any], arguments: Strategy, examples: int) -> None:
    """Judge a door with arguments from all over the admitted range."""

    @quiet(examples)
    @given(arguments)
    def every(given: dict[str, Any]) -> None:
        judge(function, **given)

    every()


def check_spoilt(
    function: Callable[..., Any],
    arguments: Strategy,
    kept: set[str],
    aliases: Mapping[str, str],
    works: bool = True,
) -> None:
    """Put every wrong thing in the place of every argument in turn; a refusal names the argument.

    ``aliases`` are other words that a refusal may call an argument by; a call that does not work
    is refused whatever is handed in.
    """
    plain = first_of(arguments)
    assert isinstance(judge(function, **plain), Exception) is not works, f"{plain}"
    for name in plain.keys() - kept:
        called = {*name.split("_"), *aliases.get(name, "").split()}
        for thing in wrong_things():
            if name == "path" and not is_no_file(thing):
                continue
            try:
                found = judge(function, **{**plain, name: thing})
                if works and isinstance(found, Refused):
                    assert any(w.rstrip("es") in found.name for w in called), f"blames {found}"
            except BaseException as error:
                error.add_note(f"{function.__name__}, {name}={thing!r:.400}")
                raise


OTHER_KINDS: Mapping[str, Callable[[float], Any]] = {
    "float16": np.float16, "float32": np.float32, "longdouble": np.longdouble,
    "Fraction": Fraction, "array without a dimension": np.asarray,
}  # fmt: skip
"""Kinds of number that a script may hold in the place of a float."""


def check_same_answer(
    function: Callable[..., Any], arguments: Strategy, kept: set[str] | frozenset[str] = frozenset()
) -> None:
    """Hand a door the same numbers as other kinds: a plain number's answer, or a refusal."""
    plain = first_of(arguments)
    numbers = {name: value for name, value in plain.items()
               if type(value) in (int, float) and name not in kept}  # fmt: skip
    # numbers that float16 holds exactly, so that every kind means the same one
    with np.errstate(over="ignore", under="ignore"):
        halves = {name: type(value)(np.float16(value)) for name, value in numbers.items()
                  if np.isfinite(np.float16(value))}  # fmt: skip
    rounded = {name: half for name, half in halves.items() if bool(half) == bool(numbers[name])}
    whole = judge(function, **{**plain, **rounded})
    if isinstance(whole, Exception):
        return
    for kind, make in OTHER_KINDS.items():
        for name, value in rounded.items():
            try:
                found = judge(function, **{**plain, **rounded, name: make(value)})
            except BaseException as error:
                error.add_note(f"{function.__name__}, {name} as {kind}")
                raise
            if not isinstance(found, Refused):
                assert same(found, whole), f"{function.__name__}, {name} as {kind}"


def same(one: Any, other: Any) -> bool:
    """Say whether two results hold the same plain numbers, up to rounding."""
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and np.allclose(one, other, rtol=1e-9, equal_nan=True)
    if isinstance(one, float):
        return bool(np.isclose(one, other, rtol=1e-9, atol=0.0, equal_nan=True))
    held, others = inside(one), inside(other)
    if held or others:
        return [key for key, _ in held] == [key for key, _ in others] and all(
            same(a, b) for (_, a), (_, b) in zip(held, others, strict=True)
        )
    return isinstance(one, (type(None), str, bytes, int)) is False or one == other


def first_of(arguments: Strategy) -> dict[str, Any]:
    """Return the plainest arguments that a strategy gives."""
    found: list[dict[str, Any]] = []

    @quiet(1)
    @given(arguments)
    def take(one: dict[str, Any]) -> None:
        found.append(one)

    take()
    return found[0]


def trace(value: Any, depth: int = 8) -> Any:
    """Return what tells whether a value was changed; iterators are left alone."""
    if isinstance(value, np.ndarray):
        return value.shape, str(value.dtype), value.tobytes()
    if isinstance(value, (int, float, str, bytes, type(None))) or depth == 0:
        return repr(value)
    held = inside(value)
    return [trace(inner, depth - 1) for _, inner in held] if held else id(value)


def numbers_in(value: Any, place: str = "") -> Iterator[tuple[str, Any]]:
    """Yield every number of a result with its place in it; other kinds of number are refused."""
    if isinstance(value, Number):
        plain = isinstance(value, (bool, int, float, np.int64))
        assert plain, f"result{place} is a {type(value).__name__}"
        if isinstance(value, float):
            yield place, value
    elif isinstance(value, np.ndarray):
        assert value.dtype.kind in "biufU", f"result{place} is of type {value.dtype}"
        if value.dtype.kind == "f":
            yield place, value
    for key, inner in inside(value):
        if f"{type(value).__name__}{key}" not in UNLIMITED:
            yield from numbers_in(inner, f"{place}{key}")


def inside(value: Any) -> list[tuple[str, Any]]:
    """Return what a thing holds, each with how it is reached."""
    if isinstance(value, Mapping):
        return [(f"[{key!r}]", inner) for key, inner in value.items()]
    if isinstance(value, (list, tuple)):
        return [(f"[{index}]", inner) for index, inner in enumerate(value)]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return [(f".{each.name}", getattr(value, each.name)) for each in dataclasses.fields(value)]
    return []


def wrong_things() -> list[Any]:
    """Return things of a wrong type, shape or size, made anew since some can be used up."""
    deep: list[Any] = []
    for _ in range(30):
        deep = [deep]
    return [
        None, True, False, np.bool_(True), 1j, np.complex128(1j), 10**400, -(10**400), 2**63,
        float("nan"), float("inf"), float("-inf"), -0.0, 5e-324, -5e-324, 1e-310, 1e-200, 1e200,
        1.7976931348623157e308, -1e308, np.float64("nan"), np.float32(1.5), np.float16(0.25),
        np.longdouble(2), np.int8(-3), np.uint64(2**64 - 1), np.datetime64("2001-01-01"),
        Decimal("1.5"), Decimal("NaN"), Fraction(1, 3), Fraction(10**400, 3), "", " ", "1.5", "\0",
        "a\0b", "\ud800", "🦆", "nan", "1e999", "<script>", "=1+1", "x" * 5000, b"", b"\xff\x00",
        bytearray(b"1"), (), [], {}, [1], [1.0, 2.0], (1, 2, 3), [[1, 2], [3]], {"a": 1}, {1: 2},
        {None: None}, frozenset({1}), range(3), deep, Ellipsis, object(), type, len, Path("x"),
        np.array([]), np.zeros((0, 3)), np.array(1.0), np.array([1.0, np.nan]), np.zeros((2, 3)),
        np.ones((2, 2, 2)), np.array([np.inf]), np.array(["a", "b"]), np.array([None, 1]),
        np.array([1j]), np.array([True]), np.ones(36), np.ones(3), np.full(3, 1e308),
        np.ma.masked_array([1.0, 2.0], [True, False]), iter([1.0, 2.0]), (x for x in (1, 2)),
        {"a": 1}.values(), memoryview(b"12"), np.zeros(3, dtype=[("x", float)]),
        np.timedelta64(5, "s"), np.timedelta64("NaT", "s"), np.timedelta64(3, "D"),
        np.array([2.0, 3.0]), np.array([np.timedelta64(5, "s")]),
        Fraction(10**400, 10**399 + 1), Fraction(1, 10**400),
        [Fraction(1, 3), Fraction(1, 2)], np.array([0.25], dtype=np.float16), np.array([[0.5]]),
        [Decimal("0.5")], np.float16("inf"), np.datetime64("NaT", "s"), np.void(b"12"),
        np.str_("1"),
    ]  # fmt: skip


def is_no_file(thing: object) -> bool:
    """True for what cannot be taken for the name of a file, so that none is made by a test."""
    text = isinstance(thing, (str, Path))
    return not text or not str(thing).strip() or any(c in str(thing) for c in "\0\ud800")
