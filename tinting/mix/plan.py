"""A tint as planned, and as plain data for a design file and back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from data.plain import checked_mapping, object_of, plain_fields
from data.rules import (
    check_choice,
    check_kind,
    check_name,
    check_number,
    check_whole,
    plain_numbers,
    refuse,
)
from tinting.colour.colorimetry import light_names
from tinting.colour.grid import Array, check_lab
from tinting.skin.dyed import Tint, tint
from tinting.skin.inputs import Base, Dye, Hand

BASE_FIELDS = [
    "reflectance",
    "scattering_thickness",
    "name",
    "specular",
    "kind",
    "thickness",
    "backing",
]
PLAIN_FIELDS = [
    "name", "coats", "batch_volume", "drop_volume", "room_volume", "area", "lights", "target",
]  # fmt: skip
DYE_FIELDS = [
    "name", "absorptivity", "saturation", "coat_loss", "absorptivity_change", "strength_spread",
    "missed",
]  # fmt: skip
HAND_FIELDS = ["factor", "spread"]


@dataclass(frozen=True, kw_only=True, eq=False)
class TintPlan:
    """What to mix and how often to brush it on.

    ``mix`` holds (Dye, volume share) pairs; ``target`` is the wanted CIELAB (3,) under D65 for 10
    degree; ``lights`` are those a recipe has to match under; ``batch_volume``, ``drop_volume``
    and ``room_volume`` [m3]; ``area`` [m2] to dye. ``hand`` is who brushes it on, None where that
    was not measured.
    """

    name: str
    base: Base
    mix: tuple[tuple[Dye, float], ...]
    coats: int
    target: Array
    lights: tuple[str, ...] = ("D65",)
    batch_volume: float = 1e-5
    drop_volume: float = 3.2e-8
    room_volume: float = 30.0
    area: float = 6e-3
    hand: Hand | None = None

    def __post_init__(self) -> None:
        check_name("tint name", self.name)
        check_kind("tint base", self.base, Base, "a Base")
        object.__setattr__(self, "coats", check_whole("coats", self.coats, least=0, most=50))
        object.__setattr__(self, "mix", self.result().mix)
        object.__setattr__(self, "target", check_lab("target lab", self.target))
        if not isinstance(self.lights, (tuple, list)) or not self.lights:
            raise refuse("lights", "a list of at least one light", self.lights)
        for light in self.lights:
            check_choice("light", light, light_names())
        object.__setattr__(self, "lights", tuple(self.lights))
        check_number("batch volume", self.batch_volume, least=1e-7, most=0.1, unit="m3")
        check_number("drop volume", self.drop_volume, least=5e-9, most=2e-7, unit="m3")
        check_number("room volume", self.room_volume, least=1.0, most=1e5, unit="m3")
        check_number("area", self.area, least=1e-7, most=100.0, unit="m2")
        plain_numbers(self)

    def result(self) -> Tint:
        """Return what the part will look like."""
        return tint(self.base, self.mix, self.coats, hand=self.hand)

    @property
    def shares(self) -> dict[str, float]:
        """Volume share of each dye by name."""
        return {dye.name: share for dye, share in self.mix}


def plain(plan: TintPlan) -> dict[str, Any]:
    """Return a plan as mappings, lists, texts and finite numbers, ready for JSON."""
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    return {
        **plain_fields(plan, PLAIN_FIELDS, {}),
        "base": plain_fields(plan.base, BASE_FIELDS, {}),
        "mix": [
            {"dye": plain_fields(dye, DYE_FIELDS, {}), "share": share} for dye, share in plan.mix
        ],
        "hand": None if plan.hand is None else plain_fields(plan.hand, HAND_FIELDS, {}),
    }


def tint_plan_from(value: object) -> TintPlan:
    """Return the TintPlan that plain data describes.

    Raises
    ------
    ValueError
        For an unknown or missing field, or a value that the plan refuses.
    """
    given = dict(checked_mapping(value, "tint", "a mapping of fields"))
    given["base"] = object_of(Base, given.get("base"), "tint base", BASE_FIELDS, {})
    rows = given.get("mix")
    if not isinstance(rows, list) or len(rows) > 12:
        raise refuse("tint mix", "a list of at most 12 dyes", type(rows).__name__)
    given["mix"] = tuple(_pair(row) for row in rows)
    if not isinstance(given.get("lights"), list):
        raise refuse("tint lights", "a list", type(given.get("lights")).__name__)
    if given.get("hand") is not None:
        given["hand"] = object_of(Hand, given["hand"], "hand", HAND_FIELDS, {})
    names = [*PLAIN_FIELDS, "base", "mix", "hand"]
    plan: TintPlan = object_of(TintPlan, given, "tint", names, {})
    return plan


def _pair(row: object) -> tuple[Dye, Any]:
    given = checked_mapping(row, "tint mix", "a mapping of fields")
    if set(given) != {"dye", "share"}:
        raise refuse("tint mix", "of dyes with dye and share", sorted(given))
    return object_of(Dye, given["dye"], "tint dye", DYE_FIELDS, {}), given["share"]
