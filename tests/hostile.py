"""Call public functions with admitted and with hostile arguments, and judge what comes back.

Every public function and every input class of a room is found by itself. What it is given is
looked up by the name of each argument; one or two of the arguments are then spoilt. What may come
back: a finite result, or the ValueError *name must be rule; got value*. Never another exception,
a NaN, an infinity, or an argument that was changed.
"""

from __future__ import annotations

import dataclasses
import functools
import inspect
import os
import re
from collections.abc import Callable, Iterator, Mapping
from numbers import Number
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from data.rules import Refused
from tests.tree import modules
from tests.wrong_things import wrong_things

REFUSAL = re.compile(r"\S.* must be \S.*; got .*", re.DOTALL)
UNLIMITED = {"saturation_stress", "saturation", "sag_limit"}
"""Fields in which infinity means without limit, as their docstrings say."""

Strategy = st.SearchStrategy[Any]
Names = str | tuple[str, ...]
Given = Mapping[Names, Strategy]
Test = Callable[..., None]


def quiet(examples: int) -> Callable[[Test], Test]:
    """Return the decorator of a property test: the same examples every time, no deadline.

    LIMB_TINT_EXAMPLES times as many are tried (2, 0.5), other ones under another LIMB_TINT_SEED;
    a failure prints both, beside the example itself and the blob that plays it again.
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

    def decorated(test: Test) -> Test:
        chosen = tried(test) if number is None else seed(int(number))(tried(test))

        @functools.wraps(chosen)
        def noted(*args: Any, **kwargs: Any) -> None:
            try:
                chosen(*args, **kwargs)
            except Exception as error:
                named = "" if number is None else f"LIMB_TINT_SEED={number} "
                error.add_note(f"again: {named}LIMB_TINT_EXAMPLES={factor}")
                raise

        return noted

    return decorated


class Call:
    """One function with the arguments it is given, shown in full when it fails."""

    def __init__(self, function: Callable[..., Any], arguments: Mapping[str, Any]) -> None:
        self.function, self.arguments = function, dict(arguments)

    def __repr__(self) -> str:
        shown = ", ".join(f"{name}={value!r:.400}" for name, value in self.arguments.items())
        return f"{self.function.__module__}.{self.function.__name__}({shown})"


@st.composite
def calls(
    draw: Any, function: Callable[..., Any], admitted: Given, spoilt: Mapping[str, Strategy]
) -> Call:
    """Draw a call: admitted arguments, of which none, one or two are spoilt.

    A key of several names is for arguments that have to fit each other, drawn together.
    """
    arguments: dict[str, Any] = {}
    for names, strategy in admitted.items():
        drawn = draw(strategy)
        pairs = [(names, drawn)] if isinstance(names, str) else zip(names, drawn, strict=True)
        arguments.update(pairs)
    if spoilt:
        most = draw(st.sampled_from([0, 0, 1, 2]))
        chosen = st.lists(st.sampled_from(sorted(spoilt)), max_size=most, unique=True)
        arguments.update({name: draw(spoilt[name]) for name in draw(chosen)})
    return Call(function, arguments)


def judge(call: Call, also: tuple[type[Exception], ...] = ()) -> Any:
    """Call and judge; return the result, or the refusal."""
    before = {name: trace(value) for name, value in call.arguments.items()}
    try:
        result = call.function(**call.arguments)
    except ValueError as error:
        assert type(error) in (ValueError, Refused), repr(error)
        assert REFUSAL.fullmatch(str(error)), f"refusal of another form: {error}"
        result = error
    except also as error:
        result = error
    after = {name: trace(value) for name, value in call.arguments.items()}
    assert before == after, "an argument was changed"
    if not isinstance(result, Exception):
        for place, number in numbers_in(result):
            assert np.isfinite(number).all(), f"result{place} = {number}"
    return result


def trace(value: Any, depth: int = 8) -> Any:
    """Return what tells whether a value was changed; iterators are left alone."""
    if isinstance(value, np.ndarray):
        return value.shape, str(value.dtype), value.tobytes()
    if isinstance(value, (int, float, str, bytes, type(None))) or depth == 0:
        return repr(value)
    if isinstance(value, Mapping):
        return [(repr(key), trace(inner, depth - 1)) for key, inner in value.items()]
    if isinstance(value, (list, tuple)):
        return [trace(inner, depth - 1) for inner in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return [trace(getattr(value, each.name), depth - 1) for each in dataclasses.fields(value)]
    return id(value)


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
        yield from numbers_in(inner, f"{place}{key}")


def inside(value: Any) -> list[tuple[str, Any]]:
    """Return what a result holds, each with how it is reached."""
    if isinstance(value, Mapping):
        return [(f"[{key!r}]", inner) for key, inner in value.items()]
    if isinstance(value, (list, tuple)):
        return [(f"[{index}]", inner) for index, inner in enumerate(value)]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        names = [each.name for each in dataclasses.fields(value) if each.name not in UNLIMITED]
        return [(f".{name}", getattr(value, name)) for name in names]
    return []


def rooms_of(package: ModuleType) -> dict[str, ModuleType]:
    """Return the rooms of a package by name, without the pages (they draw, see test_page)."""
    return modules(package.__name__)


def public_calls(package: ModuleType) -> dict[str, Callable[..., Any]]:
    """Return the public functions and checked classes of a package, "room.name" -> itself.

    A class without checks of its own is a result that rooms hand on; nothing is typed into it.
    """
    found: dict[str, Callable[..., Any]] = {}
    for room, module in rooms_of(package).items():
        for name, thing in vars(module).items():
            home = getattr(inspect.unwrap(thing) if callable(thing) else thing, "__module__", None)
            if name.startswith("_") or home != module.__name__ or not callable(thing):
                continue
            if not isinstance(thing, type) or "__post_init__" in vars(thing):
                found[f"{room}.{name}"] = thing
    return found


def handed_over(package: ModuleType) -> dict[str, set[str]]:
    """Return for each public call the arguments that an earlier room has made and checked.

    They are those annotated as a checked array or as a result, a class without checks of its own;
    they are given as that room makes them and never spoilt.
    """
    results = {"Array", "Points", "Ring", "Any", "Callable"}
    for module in rooms_of(package).values():
        for name, thing in vars(module).items():
            if dataclasses.is_dataclass(thing) and "__post_init__" not in vars(thing):
                results.add(name)
    found: dict[str, set[str]] = {}
    for name, function in public_calls(package).items():
        marks = inspect.signature(function).parameters.values()
        words = {mark.name: set(re.findall(r"\w+", str(mark.annotation))) for mark in marks}
        is_class = isinstance(function, type)
        found[name] = set() if is_class else {key for key in words if results & words[key]}
    return found


def case(function: Callable[..., Any], common: Given, special: Given, kept: set[str]) -> Strategy:
    """Return the calls of a function, its arguments looked up by name, ``kept`` ones not spoilt.

    ``special`` comes before ``common``; a strategy for several names serves where the function
    takes them all. An argument named nowhere is a KeyError: give it something.
    """
    wanted = list(inspect.signature(function).parameters)
    left = list(wanted)
    admitted: dict[Names, Strategy] = {}
    for table in (special, common):
        for names in sorted(table, key=lambda names: isinstance(names, str)):
            several = (names,) if isinstance(names, str) else names
            if all(name in left for name in several):
                admitted[names] = table[names]
                left = [name for name in left if name not in several]
    if left:
        raise KeyError(f"no strategy for the arguments {left}")
    # in the order of the function, so that the same examples come whatever the table's order
    spoilt = {name: wrong_things() for name in wanted if name not in kept}
    if "path" in spoilt:
        spoilt["path"] = wrong_things().filter(is_no_file)
    return calls(function, admitted, spoilt)


def is_no_file(thing: object) -> bool:
    """True for what cannot be taken for the name of a file, so that none is made by a test."""
    text = isinstance(thing, (str, Path))
    return not text or not str(thing).strip() or any(c in str(thing) for c in "\0\ud800")


def run(call: Strategy, examples: int, also: tuple[type[Exception], ...] = ()) -> None:
    """Judge that many examples of a call."""

    @quiet(examples)
    @given(call)
    def every(one: Call) -> None:
        judge(one, also)

    every()
