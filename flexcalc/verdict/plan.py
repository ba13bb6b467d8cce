"""A limb with its setting as plain data for a design file, and back through the input classes.

Every object is a mapping with ``kind`` (its class) and its fields by name, in SI. What the
classes refuse is refused here with the same sentence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from data.plain import plain_value, value_from
from data.rules import check_choice, check_kind, check_name, check_number, plain_numbers, refuse
from flexcalc.build.channel import sized_limb
from flexcalc.limb.inputs import (
    Along,
    Bend,
    Elastomer,
    Limb,
    Metal,
    Setting,
    Wire,
    in_the_hand,
)
from flexcalc.limb.mesh_file import MeshFile
from flexcalc.limb.outline import OUTLINES
from flexcalc.limb.printer import ORIENTATIONS, Printer
from flexcalc.pose.pose import check_bends
from flexcalc.section.section import surface_area

WANTED_RE_POSES = 50.0
MOST_POSES = 12
CHANNELS = ("sized", "typed")


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What counts as holding.

    The ``share`` of the bend that is kept, how far the tip may ``sag`` [m], how many ``re_poses``
    the wire bears, and the ``probability`` with which all of these are met and the limb does not
    kink. ``tip_within`` [m] is how near the tip is to stay to where the hand put it; None: that is
    shown and not judged.
    """

    share: float = 0.85
    sag: float = 0.01
    re_poses: float = WANTED_RE_POSES
    probability: float = 0.8
    tip_within: float | None = None

    def __post_init__(self) -> None:
        check_number("share to keep", self.share, least=0.0, most=1.0)
        check_number("sag allowed", self.sag, above=0.0, most=1.0, unit="m")
        check_number("re-poses wanted", self.re_poses, least=1.0, most=1e7)
        check_number("probability wanted", self.probability, least=0.0, most=1.0)
        if self.tip_within is not None:
            check_number("tip within", self.tip_within, above=0.0, most=1.0, unit="m")
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class NamedPose:
    """A pose that a figure takes: its ``name``, its ``setting``, and for how long it ``stays`` [s]
    in it before it takes the next one.
    """

    name: str
    setting: Setting
    stays: float = 86400.0

    def __post_init__(self) -> None:
        check_name("pose name", self.name)
        check_kind("pose setting", self.setting, Setting, "a Setting")
        check_number("stays", self.stays, least=0.0, most=1e9, unit="s")
        plain_numbers(self)


def poses_in_order(limb: Limb, poses: Iterable[NamedPose]) -> tuple[NamedPose, ...]:
    """Return poses as a figure takes them, over and over: each has the one before it as its last.

    Before the first comes the last one; a single pose comes from straight.

    Raises
    ------
    ValueError
        For no pose or more than 12, a name given twice, and a bend that the limb cannot take.
    """
    try:
        given = tuple(poses)
    except TypeError:
        raise refuse("poses", "a sequence of NamedPose", poses) from None
    if not 1 <= len(given) <= MOST_POSES:
        raise refuse("poses", f"1 to {MOST_POSES}", len(given))
    for pose in given:
        check_kind("poses", pose, NamedPose, "a sequence of NamedPose")
    names = [pose.name for pose in given]
    if len({*names}) < len(names):
        raise refuse("pose name", "given once", next(n for n in names if names.count(n) > 1))
    befores = (given[-1], *given[:-1]) if len(given) > 1 else ()
    ordered = [_after(before, pose) for before, pose in zip(befores, given, strict=False)]
    for pose in ordered or given:
        check_bends(limb, pose.setting)
    return tuple(ordered) or given


def _after(before: NamedPose, pose: NamedPose) -> NamedPose:
    """Return a pose with the one before it as its last."""
    bends = tuple(in_the_hand(bend) for bend in before.setting.bends)
    stood = before.stays if bends else 0.0
    return replace(pose, setting=replace(pose.setting, last_bends=bends, last_time=stood))


@dataclass(frozen=True, kw_only=True)
class LimbPlan:
    """One limb of a figure: what it is, how it is posed and printed, and what counts as holding.

    With ``channel`` "sized" the limb gets the finished channel of its wire, printer and orientation
    (`sized_limb`), so that a change of wire changes the channel; "typed" leaves it as it is.
    ``mesh`` tells which mesh the limb was measured in, None for one that was typed. ``poses`` are
    those that the figure takes in this order, over and over; none where the setting is the only
    one.
    """

    name: str
    limb: Limb
    setting: Setting
    wish: Wish = field(default_factory=Wish)
    printer: Printer = field(default_factory=Printer)
    orientation: str = "lying"
    channel: str = "sized"
    mesh: MeshFile | None = None
    poses: tuple[NamedPose, ...] = ()

    def __post_init__(self) -> None:
        check_name("limb name", self.name)
        check_kind("limb", self.limb, Limb, "a Limb")
        check_kind("setting", self.setting, Setting, "a Setting")
        check_kind("wish", self.wish, Wish, "a Wish")
        check_kind("printer", self.printer, Printer, "a Printer")
        check_choice("orientation", self.orientation, ORIENTATIONS)
        if check_choice("channel", self.channel, CHANNELS) == "sized":
            made = sized_limb(self.limb, self.printer, self.orientation)
            object.__setattr__(self, "limb", made)
        check_bends(self.limb, self.setting)
        check_kind("poses", self.poses, (tuple, list), "a sequence of NamedPose")
        object.__setattr__(self, "poses", tuple(self.poses))
        if self.poses:
            poses_in_order(self.limb, self.poses)
        if self.mesh is not None:
            check_kind("mesh", self.mesh, MeshFile, "a MeshFile or None")
            check_kind("outline of a mesh", self.limb.outline, Along, "an Along")


CLASSES: dict[str, type] = {
    made.__name__: made
    for made in (
        *OUTLINES,
        Along,
        Metal,
        Elastomer,
        Wire,
        Limb,
        Bend,
        Setting,
        Wish,
        Printer,
        MeshFile,
        NamedPose,
        LimbPlan,
    )
}


def plain(value: Any) -> Any:
    """Return an input object as mappings, lists, texts and finite numbers, ready for JSON."""
    return plain_value(value, CLASSES)


def printed_surface(plan: LimbPlan) -> float:
    """Return the outer surface of a plan's print: as measured in its mesh, hand and all, or that
    of its outlines. [m2]"""
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    return plan.mesh.skin if plan.mesh and plan.mesh.skin > 0 else surface_area(plan.limb)


def limb_plan_from(value: object) -> LimbPlan:
    """Return the LimbPlan that plain data describes.

    Data without ``channel`` were kept before a channel could be sized: theirs is typed.

    Raises
    ------
    ValueError
        For an unknown kind or field, a missing field, or a value that the class refuses.
    """
    if isinstance(value, Mapping) and value.get("kind") == "LimbPlan":
        value = {"channel": "typed", **value}
    plan = value_from(value, "limb", CLASSES)
    if not isinstance(plan, LimbPlan):
        raise refuse("limb", "of the kind LimbPlan", type(plan).__name__)
    return plan
