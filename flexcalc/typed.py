"""The way back from a plan to the texts that would ask for it, for the page's fields."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from data.rules import check_kind, refuse
from data.store.folder import Place
from flexcalc.form import BEND_ROWS, DEFAULTS, OUTLINE_FIELDS, PRINTED
from flexcalc.outline import DShape, Outline, Polygon, Round, RoundedRectangle
from flexcalc.own import Thing, find_elastomer, find_metal, find_printer, save_own
from flexcalc.plan import LimbPlan


def form_from_plan(plan: LimbPlan) -> dict[str, str]:
    """Return the form that would ask for a plan, the way back from `plan_from_form`.

    Raises
    ------
    ValueError
        For a plan with more bends than a form has rows, or a channel to one side.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    limb, setting = plan.limb, plan.setting
    if len(setting.bends) > BEND_ROWS:
        raise refuse("bends", f"at most {BEND_ROWS} to be edited here", len(setting.bends))
    if limb.channel_offset[0] != 0:
        raise refuse("channel offset", "above or below the centre", limb.channel_offset)
    form = {
        **dict.fromkeys(DEFAULTS, ""),
        **_outline_texts(limb.outline),
        "units": DEFAULTS["units"],
        "elastomer": limb.elastomer.name,
        "length": _mm(limb.length),
        "wall": "solid" if limb.wall is None else _mm(limb.wall),
        "infill": f"{limb.infill * 100:.10g}",
        "channel": _mm(limb.channel_diameter),
        "offset": _mm(limb.channel_offset[1]),
        "sleeve": _mm(limb.sleeve),
        "printed": _printed(plan),
        "printer": plan.printer.name,
        "metal": limb.wire.metal.name if limb.wire else "no wire",
        "wire": _mm(limb.wire.diameter) if limb.wire else DEFAULTS["wire"],
        "strands": str(limb.wire.strands) if limb.wire else "1",
        "direction": f"{math.degrees(setting.clamp_angle):.10g}",
        "payload": f"{setting.payload * 1e3:.10g}",
        "hold": f"{setting.hold_time:.10g}",
        "share": f"{plan.wish.share * 100:.10g}",
        "sag": _mm(plan.wish.sag),
    }
    for row, bend in enumerate(setting.bends, start=1):
        form[f"start{row}"] = _mm(bend.start)
        form[f"angle{row}"] = f"{math.degrees(bend.angle):.10g}"
        form[f"radius{row}"] = _mm(bend.radius)
    return form


def _outline_texts(outline: Outline) -> dict[str, str]:
    """Return the texts of an outline's fields; those of the other outlines stay the demo's."""
    own: dict[str, str]
    if isinstance(outline, Round):
        own = {"outline": "round", "diameter": _mm(outline.diameter)}
    elif isinstance(outline, DShape):
        flat = outline.diameter / 2 + outline.flat_y
        own = {"diameter": _mm(outline.diameter), "flat": _mm(flat)}
        own["outline"] = "D, flat side down"
    elif isinstance(outline, Polygon):
        points = ", ".join(f"{x * 1e3:.10g} {y * 1e3:.10g}" for x, y in outline.points)
        own = {"outline": "free polygon", "points": points}
    else:
        own = {"outline": "ellipse", "width": _mm(outline.width), "height": _mm(outline.height)}
        if isinstance(outline, RoundedRectangle):
            own.update(outline="rounded rectangle", corner=_mm(outline.corner_radius))
    sizes = {key: DEFAULTS[key] for keys in OUTLINE_FIELDS.values() for key in keys}
    return {**sizes, **own}


def _printed(plan: LimbPlan) -> str:
    if plan.orientation == "upright":
        return PRINTED[2]
    return PRINTED[0 if plan.limb.channel_roofed else 1]


def _mm(length: float) -> str:
    return f"{length * 1e3:.10g}"


def adopted(plan: LimbPlan, *, path: Place = None) -> LimbPlan:
    """Return a plan whose filament, metal and printer are found here by name.

    Those that are unknown here are kept as the maker's own; a name that means other numbers here
    gets "(design)" behind it.
    """
    check_kind("limb plan", plan, LimbPlan, "a LimbPlan")
    elastomer = _adopted(plan.limb.elastomer, find_elastomer, path)
    limb = replace(plan.limb, elastomer=elastomer)
    if limb.wire is not None:
        metal = _adopted(limb.wire.metal, find_metal, path)
        limb = replace(limb, wire=replace(limb.wire, metal=metal))
    return replace(plan, limb=limb, printer=_adopted(plan.printer, find_printer, path))


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
