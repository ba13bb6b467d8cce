"""A wire in bending: hands on its moment while bent and while let go, fibre by fibre."""

from flexcalc.wire.bending import bending_moment

__all__ = [
    "bending_moment",
]
