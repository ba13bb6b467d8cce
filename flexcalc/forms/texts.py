"""The way back from a limb to the texts that would ask for it, for the fields of the page.

It starts from plain data as a design keeps it, so that a limb whose numbers are refused today can
still be opened: the fields hold what was kept, and the refusal stands at its field.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from typing import Any

from data.plain import checked_mapping, object_from
from data.rules import check_choice, check_kind, check_name, check_number, refuse
from data.store.folder import Place
from flexcalc.forms.limb_form import (
    ABOUT,
    ANCHORED,
    BEND_ROWS,
    BENT,
    CURLS,
    DEFAULTS,
    NO_WIRE,
    OUTLINE_FIELDS,
    PRINTED,
    SIZED,
    STRAIGHT,
    THEN,
    TIP_FIELDS,
)
from flexcalc.limb.inputs import Elastomer, Metal, Setting
from flexcalc.limb.outline import OUTLINES
from flexcalc.limb.own_materials import Thing, find_elastomer, find_metal, find_printer, save_own
from flexcalc.limb.printer import ORIENTATIONS, Printer
from flexcalc.limb.trade import gauge_of
from flexcalc.verdict.plan import CLASSES, WANTED_RE_POSES, LimbPlan, limb_plan_from, plain

MOST_POINTS = 2000
OUTLINE_KINDS = tuple(outline.__name__ for outline in OUTLINES)


def form_from_plan(plan: LimbPlan) -> dict[str, str]:
    """Return the form that would ask for a plan, the way back from `plan_from_form`.

    Raises
    ------
    ValueError
        For a plan with more bends than a form has rows, a channel to one side, or an outline or
        natural curvature given elsewhere than at clamp and tip.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    return form_from_kept(plain(plan))


def form_from_kept(kept: object) -> dict[str, str]:
    """Return the form that would ask for a limb kept as plain data (`flexcalc.verdict.plan`).

    Its numbers may be out of the range of today: the form then names the field that is refused.

    Raises
    ------
    ValueError
        For what is no limb's plain data, or has no place in the form, see `form_from_plan`.
    """
    plan = _part(kept, "limb", "LimbPlan")
    check_name("limb name", plan.get("name"))
    wish = _part(plan.get("wish"), "wish", "Wish")
    return {
        **dict.fromkeys(DEFAULTS, ""),
        **_limb_texts(plan),
        **_setting_texts(plan),
        **_poses_texts(plan),
        "share": f"{_number(wish, 'share') * 100:.10g}",
        "sag": _mm(wish, "sag"),
        "re_poses": f"{_number({'re_poses': WANTED_RE_POSES, **wish}, 're_poses'):.10g}",
        "probability": f"{_number({'probability': 0.8, **wish}, 'probability') * 100:.10g}",
        "tip": "" if wish.get("tip_within") is None else _mm(wish, "tip_within"),
    }


def can_be_opened(kept: object) -> bool:
    """Tell whether a kept limb is a plan, or can at least be put into the form to be corrected."""
    for read in (limb_plan_from, form_from_kept):
        try:
            read(kept)
            _materials(_part(kept, "limb", "LimbPlan"))
        except ValueError:
            continue
        return True
    return False


def adopted(kept: object, *, path: Place = None) -> dict[str, Any]:
    """Return a kept limb whose filament, metal and printer are found here by name.

    Those that are unknown here are kept as the maker's own; a name that means other numbers here
    gets "(design)" behind it. ValueError for what is no limb's plain data.
    """
    plan = dict(_part(kept, "limb", "LimbPlan"))
    elastomer, metal, printer = _materials(plan)
    limb = {**plan["limb"], "elastomer": plain(_adopted(elastomer, find_elastomer, path))}
    if metal is not None:
        limb["wire"] = {**limb["wire"], "metal": plain(_adopted(metal, find_metal, path))}
    return {**plan, "limb": limb, "printer": plain(_adopted(printer, find_printer, path))}


def _limb_texts(plan: Mapping[str, Any]) -> dict[str, str]:
    limb = _part(plan.get("limb"), "limb", "Limb")
    elastomer, metal, printer = _materials(plan)
    sized = plan.get("channel") == "sized" and (metal is None or not _in_bore(limb))
    x, y = _offset(limb.get("channel_offset"))
    if x != 0:
        raise refuse("channel offset", "above or below the centre", (x, y))
    texts = {
        **_along_texts(_part(limb.get("outline"), "outline", "Along", *OUTLINE_KINDS)),
        "inserted": f"{_number({**AS_PRINTED, **limb}, 'inserted_before') / 3600:.10g}",
        "elastomer": elastomer.name,
        "length": _mm(limb, "length"),
        "wall": "solid" if limb.get("wall") is None else _mm(limb, "wall"),
        "infill": f"{_number(limb, 'infill') * 100:.10g}",
        "pattern": limb.get("infill_pattern", "lines"),
        "channel": SIZED if sized else _mm(limb, "channel_diameter"),
        "offset": f"{y * 1e3:.10g}",
        "sleeve": _mm(limb, "sleeve"),
        "printed": _printed(plan, limb),
        "printer": printer.name,
        "metal": NO_WIRE if metal is None else metal.name,
        "wire": DEFAULTS["wire"],
        "strands": "1",
    }
    check_kind("wire anchored", limb.get("wire_anchored", False), bool, "True or False")
    texts["anchored"] = ANCHORED[bool(limb.get("wire_anchored"))]
    if metal is not None:
        texts["wire"] = _wire_size(limb["wire"])
        texts["strands"] = f"{_number(limb['wire'], 'strands'):.10g}"
    return texts


def _wire_size(wire: Mapping[str, Any]) -> str:
    """Return a wire's diameter as a gauge where it is one to the last digit, else in mm."""
    gauge = gauge_of(_number(wire, "diameter"))
    return _mm(wire, "diameter") if gauge is None else gauge.name


def _in_bore(limb: Mapping[str, Any]) -> bool:
    """Whether a wire lies in the bore of a hollow limb, without a channel of its own."""
    return _number(limb, "channel_diameter") == 0


def _setting_texts(plan: Mapping[str, Any]) -> dict[str, str]:
    setting = _part(plan.get("setting"), "setting", "Setting")
    bends = setting.get("bends")
    check_kind("bends", bends, list, "a list")
    if len(bends) > BEND_ROWS:  # type: ignore[arg-type]
        raise refuse("bends", f"at most {BEND_ROWS} to be edited here", len(bends))  # type: ignore[arg-type]
    texts = {
        "direction": f"{math.degrees(_number(setting, 'clamp_angle')):.10g}",
        "payload": f"{_number(setting, 'payload') * 1e3:.10g}",
        "hold": f"{_number(setting, 'hold_time'):.10g}",
        **_hand_texts({**AS_BEFORE, **setting}),
    }
    for row, kept in enumerate(bends, start=1):  # type: ignore[arg-type]
        bend = _part(kept, "bend", "Bend")
        for key, text in zip(("start", "angle", "radius"), _bend_texts(bend), strict=True):
            texts[f"{key}{row}"] = text
        texts[f"swing{row}"] = _swing_text(bend)
    further = [_number({"over_bend": 1.0, **each}, "over_bend") for each in bends]  # type: ignore[union-attr]
    if any(one != 1 for one in further):
        texts["further"] = "; ".join(f"{one:.10g}" for one in further)
    return texts


def _poses_texts(plan: Mapping[str, Any]) -> dict[str, str]:
    """Return the texts of the poses that a limb takes one after the other.

    A ValueError where they differ by more than their bends.
    """
    poses = plan.get("poses", [])
    check_kind("poses", poses, list, "a list")
    words, times = [], []
    for kept in poses:
        pose = _part(kept, "pose", "NamedPose")
        setting = _part(pose.get("setting"), "pose setting", "Setting")
        if _but_bends(setting) != _but_bends(plan["setting"]):
            raise refuse("poses", "alike but for their bends to be edited here", pose.get("name"))
        bends = [_bend_words(_part(one, "bend", "Bend")) for one in setting["bends"]]
        words.append(f"{pose.get('name')}: {'; '.join(bends) or STRAIGHT}")
        times.append(f"{_number(pose, 'stays') / 3600:.10g}")
    return {"poses": f" {THEN} ".join(words), "poses_time": "; ".join(times) or "24"}


def _but_bends(setting: Mapping[str, Any]) -> dict[str, Any]:
    left = ("bends", "places", "last_bends", "last_time")
    return {key: value for key, value in setting.items() if key not in left}


def _bend_texts(bend: Mapping[str, Any]) -> tuple[str, str, str]:
    angle = f"{math.degrees(_number(bend, 'angle')):.10g}"
    return _mm(bend, "start"), angle, _mm(bend, "radius")


def _swing_text(bend: Mapping[str, Any]) -> str:
    """Return how far a bend swings, empty where it does not."""
    swing = _number({"swing": 0.0, **bend}, "swing")
    return f"{math.degrees(swing):.10g}" if swing else ""


def _bend_words(bend: Mapping[str, Any]) -> str:
    """Return a bend in a row of bends."""
    return " ".join([*_bend_texts(bend), _swing_text(bend)]).rstrip()


AS_PRINTED = {"inserted_before": 86400.0}
AS_BEFORE = {
    "bent_by": "former", "lever": 0.04, "places": 1, "presses": 1, "press_pause": 60.0,
    "last_bends": [], "last_time": 0.0, "temperature": 23.0,
}  # fmt: skip
"""How limbs were bent that were kept before one could say it, as `AS_PRINTED` how long
their wire had been in them."""


def _hand_texts(setting: Mapping[str, Any]) -> dict[str, str]:
    lever = 1e3 * _number(setting, "lever")
    return {
        "bent": BENT[0] if setting["bent_by"] == "hands" else BENT[1],
        "lever": _mm(setting, "lever")
        + _off(setting, "lever_factor", lambda factor: lever * math.log(factor)),
        "places": f"{_number(setting, 'places'):.10g}" + _off(setting, "places_missed", float),
        "presses": f"{_number(setting, 'presses'):.10g}",
        "pause": f"{_number(setting, 'press_pause'):.10g}",
        **_before_texts(setting),
        "temperature": f"{_number(setting, 'temperature'):.10g}"
        + _off(setting, "temperature_spread", float),
    }


def _off(setting: Mapping[str, Any], key: str, shown: Callable[[float], float]) -> str:
    """Return how well a number is known as it is typed behind it, nothing where that is usual."""
    usual = getattr(Setting(bends=(), clamp_angle=0.0), key)
    value = _number({key: usual, **setting}, key)
    if value == usual or (key == "lever_factor" and value <= 0):
        return ""
    return f" {ABOUT[-1]} {shown(value):.10g}"


def _before_texts(setting: Mapping[str, Any]) -> dict[str, str]:
    """Return the texts of the poses before, one of bends alone or several with their times."""
    last = setting["last_bends"]
    check_kind("last bends", last, list, "a list")
    poses, times = [last] if last else [], [setting["last_time"]]
    if last and isinstance(last[0], list):
        check_kind("last bends", last, list, "a list")
        if any(not isinstance(pair, list) or len(pair) != 2 for pair in last):
            raise refuse("last bends", "bends, or pairs of bends and time", last)
        poses, times = [pair[0] for pair in last], [pair[1] for pair in last]
    words = []
    for bends in poses:
        check_kind("last bends", bends, list, "a list")
        kept = [_bend_words(_part(each, "last bend", "Bend")) for each in bends]
        words.append("; ".join(kept) or STRAIGHT)
    held = [check_number("last time", time) / 3600 for time in times]
    return {
        "before": f" {THEN} ".join(words),
        "before_time": "; ".join(f"{time:.10g}" for time in held),
    }


def _along_texts(outline: Mapping[str, Any]) -> dict[str, str]:
    """Return the texts of an outline that may change from clamp to tip."""
    if outline["kind"] != "Along":
        return _outline_texts(outline)
    (root, tip) = (
        _part(each, "outline", *OUTLINE_KINDS)
        for each in _at_the_ends("outline stations", outline.get("stations"))
    )
    texts = _outline_texts(root)
    if tip != root:
        of_tip = _outline_texts(tip)
        for key in TIP_FIELDS[texts["outline"]]:
            texts[key] = of_tip[key.removeprefix("tip_")]
    for name in ("sideways_curvature", "natural_twist"):
        if outline.get(name):
            rule = "none to be edited here"
            raise refuse(name.replace("_", " "), rule, f"{len(outline[name])} values")
    curved = outline.get("natural_curvature") or [[0.0, 0.0], [1.0, 0.0]]
    ends = _at_the_ends("natural curvature", curved)
    for key, value in zip(CURLS, ends, strict=True):
        curl = check_number("natural curvature", value)
        texts[key] = f"{1e3 / curl:.10g}" if curl else ""
    return texts


def _at_the_ends(name: str, pairs: object) -> tuple[Any, Any]:
    """Return what is kept for clamp and tip; a ValueError where more is kept than these."""
    rule = "given at the clamp and the tip only to be edited here"
    if not isinstance(pairs, list) or any(
        not isinstance(pair, list) or len(pair) != 2 for pair in pairs
    ):
        raise refuse(name, "pairs of a share and a value", pairs)
    if [share for share, _ in pairs] != [0.0, 1.0]:
        raise refuse(name, rule, f"{len(pairs)} of them")
    return pairs[0][1], pairs[1][1]


def _outline_texts(outline: Mapping[str, Any]) -> dict[str, str]:
    """Return the texts of an outline's fields; those of the other outlines stay the demo's."""
    kind = outline["kind"]
    own: dict[str, str]
    if kind == "Round":
        own = {"outline": "round", "diameter": _mm(outline, "diameter")}
    elif kind == "DShape":
        flat = _number(outline, "flat_height")
        cut = flat if flat > 0 else _number(outline, "diameter") / 2 + flat
        own = {"diameter": _mm(outline, "diameter"), "flat": f"{cut * 1e3:.10g}"}
        own["outline"] = "D, flat side down"
    elif kind == "Polygon":
        own = {"outline": "free polygon", "points": _points_text(outline.get("points"))}
    else:
        own = {"outline": "ellipse", "width": _mm(outline, "width")}
        own["height"] = _mm(outline, "height")
        if kind == "RoundedRectangle":
            own.update(outline="rounded rectangle", corner=_mm(outline, "corner_radius"))
    sizes = {key: DEFAULTS[key] for keys in OUTLINE_FIELDS.values() for key in keys}
    return {**sizes, **own}


def _points_text(points: object) -> str:
    if not isinstance(points, list) or len(points) > MOST_POINTS:
        raise refuse("outline points", f"a list of at most {MOST_POINTS}", type(points).__name__)
    pairs = [_offset(point) for point in points]
    return ", ".join(f"{x * 1e3:.10g} {y * 1e3:.10g}" for x, y in pairs)


def _printed(plan: Mapping[str, Any], limb: Mapping[str, Any]) -> str:
    if check_choice("orientation", plan.get("orientation"), ORIENTATIONS) == "upright":
        return PRINTED[2]
    return PRINTED[0 if limb.get("channel_roofed") else 1]


def _part(value: object, place: str, *kinds: str) -> Mapping[str, Any]:
    """Return a part of plain data if it is of one of the kinds and has no field of another."""
    part = checked_mapping(value, place, "a mapping with its kind")
    kind = check_choice(f"{place} kind", part.get("kind"), kinds)
    known = {"kind", *(each.name for each in fields(CLASSES[kind]))}
    for key in part:
        check_choice(f"{place} field", key, sorted(known))
    return part


def _materials(plan: Mapping[str, Any]) -> tuple[Elastomer, Metal | None, Printer]:
    """Return the filament, the wire's metal and the printer of a kept limb."""
    limb = _part(plan.get("limb"), "limb", "Limb")
    elastomer = object_from(limb.get("elastomer"), "limb elastomer", CLASSES)
    check_kind("limb elastomer", elastomer, Elastomer, "an Elastomer")
    printer = object_from(plan.get("printer"), "printer", CLASSES)
    check_kind("printer", printer, Printer, "a Printer")
    if limb.get("wire") is None:
        return elastomer, None, printer
    wire = _part(limb["wire"], "wire", "Wire")
    metal = object_from(wire.get("metal"), "wire metal", CLASSES)
    check_kind("wire metal", metal, Metal, "a Metal")
    return elastomer, metal, printer


def _offset(value: object) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise refuse("channel offset", "a pair x, y", value)
    x, y = (check_number("channel offset", each) for each in value)
    return x, y


def _number(part: Mapping[str, Any], key: str) -> float:
    return check_number(f"{part['kind']} {key}", part.get(key))


def _mm(part: Mapping[str, Any], key: str) -> str:
    return f"{_number(part, key) * 1e3:.10g}"


def _adopted(thing: Thing, find: Callable[..., Thing], path: Place) -> Thing:
    for name in (thing.name, f"{thing.name[:70]} (design)"):
        wanted = replace(thing, name=name)
        try:
            known = find(name, path=path)
        except ValueError:
            save_own(wanted, path=path)
            return wanted
        if known == wanted:
            return wanted
    save_own(wanted, path=path)
    return wanted
