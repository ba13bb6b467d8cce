"""A limb with its setting as plain data for a design file, and back through the input classes.

Every object is a mapping with ``kind`` (its class) and its fields by name, in SI. What the
classes refuse is refused here with the same sentence.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any

from data.rules import check_choice, check_kind, check_name, check_number, plain_numbers, refuse
from data.store.design import UNLIMITED
from flexcalc.inputs import Bend, Elastomer, Limb, Metal, Setting, Wire
from flexcalc.outline import OUTLINES
from flexcalc.pose import check_bends
from flexcalc.printer import ORIENTATIONS, Printer


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What counts as holding: the share of the bend kept and how far the hand may sag [m]."""

    share: float = 0.85
    sag: float = 0.01

    def __post_init__(self) -> None:
        check_number("share to keep", self.share, least=0.0, most=1.0)
        check_number("sag allowed", self.sag, above=0.0, most=10.0, unit="m")
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class LimbPlan:
    """One limb of a figure: what it is, how it is posed and printed, and what counts as holding."""

    name: str
    limb: Limb
    setting: Setting
    wish: Wish = field(default_factory=Wish)
    printer: Printer = field(default_factory=Printer)
    orientation: str = "lying"

    def __post_init__(self) -> None:
        check_name("limb name", self.name)
        check_kind("limb", self.limb, Limb, "a Limb")
        check_kind("setting", self.setting, Setting, "a Setting")
        check_kind("wish", self.wish, Wish, "a Wish")
        check_kind("printer", self.printer, Printer, "a Printer")
        check_choice("orientation", self.orientation, ORIENTATIONS)
        check_bends(self.limb, self.setting)


CLASSES: dict[str, type] = {
    made.__name__: made
    for made in (*OUTLINES, Metal, Elastomer, Wire, Limb, Bend, Setting, Wish, Printer, LimbPlan)
}


def plain(value: Any) -> Any:
    """Return an input object as mappings, lists, texts and finite numbers, ready for JSON."""
    if is_dataclass(value) and type(value).__name__ in CLASSES:
        made = {entry.name: plain(getattr(value, entry.name)) for entry in fields(value)}
        return {"kind": type(value).__name__, **made}
    if isinstance(value, (list, tuple)):
        return [plain(inner) for inner in value]
    if value is None or isinstance(value, (str, bool, int)):
        return value
    if isinstance(value, float):
        return UNLIMITED if value == math.inf else value
    raise refuse("design value", "an input object, text or number", type(value).__name__)


def limb_plan_from(value: object) -> LimbPlan:
    """Return the LimbPlan that plain data describes.

    Raises
    ------
    ValueError
        For an unknown kind or field, a missing field, or a value that the class refuses.
    """
    plan = _rebuilt(value, "limb")
    if not isinstance(plan, LimbPlan):
        raise refuse("limb", "of the kind LimbPlan", type(plan).__name__)
    return plan


def object_from(value: object, place: str = "entry") -> Any:
    """Return the input object, of any kind, that plain data describes; errors as `limb_plan_from`.

    ``place`` is what the object is called in a refusal.
    """
    check_name("place", place)
    if not isinstance(value, Mapping):
        raise refuse(place, "a mapping with its kind", type(value).__name__)
    return _made(value, place)


def _rebuilt(value: object, place: str) -> Any:
    if isinstance(value, list):
        return tuple(_rebuilt(inner, place) for inner in value)
    if isinstance(value, Mapping):
        return _made(value, place)
    return math.inf if value == UNLIMITED else value


def _made(value: Mapping[Any, Any], place: str) -> Any:
    kind = value.get("kind")
    if not isinstance(kind, str) or kind not in CLASSES:
        raise refuse(f"{place} kind", "one of " + ", ".join(CLASSES), kind)
    known = {entry.name for entry in fields(CLASSES[kind])}
    given = {key: inner for key, inner in value.items() if key != "kind"}
    for key in given:
        if key not in known:
            raise refuse(f"{kind} field", "one of " + ", ".join(sorted(known)), key)
    rebuilt = {key: _rebuilt(inner, f"{kind} {key}") for key, inner in given.items()}
    try:
        return CLASSES[kind](**rebuilt)
    except TypeError as error:
        raise refuse(kind, "given with all its fields, each of its type", error) from None
