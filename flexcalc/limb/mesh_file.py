"""Which mesh a limb was measured from, and how: a design keeps this and not the mesh."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from data.rules import check_kind, check_name, check_number, check_numbers, plain_numbers, refuse


@dataclass(frozen=True, kw_only=True)
class MeshFile:
    """A maker's own mesh, by what tells it from every other, and what was chosen on it.

    ``name`` of the file and ``sha256`` of what it holds, 64 digits; ``unit`` it was read in;
    ``root`` (x, y, z) [m] near the end where the limb is held; ``wrist`` [m] where the limb ends,
    along its line; ``up`` (x, y, z), a direction in the plane in which it bends; ``hand_mass``
    [kg] of what lies beyond the wrist, part of the payload; ``roomiest``: the channel, at the zero
    of every outline, leaves the middles of the sections for more cover; ``skin`` [m2] of limb and
    hand as printed, 0 where it was not kept.
    """

    name: str
    sha256: str
    unit: str
    root: tuple[float, float, float]
    wrist: float
    up: tuple[float, float, float]
    hand_mass: float = 0.0
    roomiest: bool = False
    skin: float = 0.0

    def __post_init__(self) -> None:
        check_name("mesh file", self.name)
        if not isinstance(self.sha256, str) or not re.fullmatch("[0-9a-f]{64}", self.sha256):
            raise refuse("mesh hash", "64 digits of 0 to 9 and a to f", self.sha256)
        check_name("mesh unit", self.unit)
        for name, most in (("root", 1e3), ("up", 1e6)):
            point = check_numbers(name, getattr(self, name), least=-most, most=most)
            if point.shape != (3,):
                raise refuse(name, "three numbers (x, y, z)", f"shape {point.shape}")
            object.__setattr__(self, name, tuple(point.tolist()))
        if not np.any(self.up):
            raise refuse("up", "a direction (x, y, z)", self.up)
        check_number("wrist", self.wrist, above=0.0, most=1.0, unit="m")
        check_number("hand mass", self.hand_mass, least=0.0, most=5.0, unit="kg")
        check_number("mesh skin", self.skin, least=0.0, most=10.0, unit="m2")
        check_kind("roomiest", self.roomiest, bool, "True or False")
        plain_numbers(self)
