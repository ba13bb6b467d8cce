"""Put every wrong thing in the place of every argument in turn, so that none is left to chance."""

from __future__ import annotations

from collections.abc import Container

from hypothesis import given

from tests.hostile import Call, Strategy, is_no_file, judge, quiet
from tests.wrong_things import each_wrong_thing


def sweep(call: Strategy, kept: Container[str], also: tuple[type[Exception], ...] = ()) -> int:
    """Judge one call with each argument that is not kept spoilt in turn; return how many calls."""
    admitted = first_of(call)
    plain, fresh = each_wrong_thing()
    number = 0
    for name in admitted.arguments:
        if name in kept:
            continue
        for thing in [*plain, *(make() for make in fresh)]:
            if name == "path" and not is_no_file(thing):
                continue
            spoilt = Call(admitted.function, {**admitted.arguments, name: thing})
            try:
                judge(spoilt, also)
            except BaseException as error:
                error.add_note(f"in {spoilt!r}")
                raise
            number += 1
    return number


def first_of(call: Strategy) -> Call:
    """Return the plainest call that a strategy gives."""
    found: list[Call] = []

    @quiet(1)
    @given(call)
    def take(one: Call) -> None:
        found.append(one)

    take()
    return found[0]
