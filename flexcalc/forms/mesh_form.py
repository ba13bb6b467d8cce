"""A limb from a mesh as a maker asks for it: what the mesh does not tell, typed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from data.page.form import (
    Field,
    FormReader,
    default_form,
    fields_by_key,
    one_of,
    reads,
    refused_at,
)
from data.rules import refuse
from flexcalc.forms.limb_form import (
    ANY_LENGTH,
    BEND_KEYS,
    BEND_ROWS,
    SIZED,
    coordinate,
    length_or_zero,
    optional_length,
    plan_from_form,
)
from flexcalc.forms.limb_form import (
    FIELDS as LIMB_FIELDS,
)
from flexcalc.forms.texts import form_from_kept
from flexcalc.limb.along import Along
from flexcalc.limb.gauge import RULE
from flexcalc.limb.mesh_file import MeshFile
from flexcalc.limb.outline import Round
from flexcalc.mesh import Hand, Line, printed_mass
from flexcalc.verdict.plan import LimbPlan, limb_plan_from, plain

ASKED = (
    "elastomer", "wall", "infill", "pattern", "metal", "wire", "strands", "printed",
    "printer", "direction", "payload", "hold", "bent", "lever", "places", "presses", "pause",
    "before", "before_time", "inserted", "anchored", "further", "poses", "poses_time",
    "temperature",
    "share", "sag", "re_poses", "probability", "tip",
    *(f"{key}{row}" for row in range(1, BEND_ROWS + 1) for key in BEND_KEYS),
)  # fmt: skip
"""Fields of the limb form that a mesh does not answer."""
OWN_CURVE = "plane of its own curve"
AXES = {
    "x": (1.0, 0.0, 0.0),
    "y": (0.0, 1.0, 0.0),
    "z": (0.0, 0.0, 1.0),
    "−x": (-1.0, 0.0, 0.0),
    "−y": (0.0, -1.0, 0.0),
    "−z": (0.0, 0.0, -1.0),
}
OWN_UNIT = "as the file says"
UNITS = (OWN_UNIT, "mm", "cm", "m", "inch")
ENTRIES = {"from the root": "root", "from the tip": "tip"}
PATHS = {"through the middles of the sections": "middle", "where the cover is thickest": "roomiest"}
THROUGH = "through"
TWIN = ("one limb", "left and right, as a pair")


@reads(times=1e3, unit="mm", example="60, 2 1/2 in or through", rule=RULE)
def depth_or_none(text: str, name: str) -> float | None:
    """Return a depth [m], infinite for “through”, None where nothing is typed."""
    return math.inf if text.strip().lower() == THROUGH else optional_length(text, name)


@reads(example="0 0 12, or 0 in; 0 in; 1/2 in")
def place_or_none(text: str, name: str) -> tuple[float, ...] | None:
    """Return a place x y z [m] typed in mm, or each with its unit, None where nothing is typed."""
    if not text.strip():
        return None
    apart = ";" if ";" in text else None
    parts = [part for part in text.split(apart) if part.strip()]
    if len(parts) != 3:
        raise refuse(name, "x y z in mm, with spaces between", text)
    x, y, z = (coordinate(part, name) for part in parts)
    return x, y, z


FIELDS = fields_by_key(
    [
        Field(key="unit", label="Unit of the file", default=OWN_UNIT, read=one_of(UNITS)),
        Field(key="root", label="Held at: a place on the root's end",
              unit="x y z in mm; empty: the thicker end", read=place_or_none, becomes=("root",)),
        Field(key="wrist", label="The limb ends, from its root, at",
              unit="mm, or say in; empty: as found", read=optional_length, becomes=("wrist",)),
        Field(key="up", label="Up, in the plane it bends in", default=OWN_CURVE,
              read=one_of((OWN_CURVE, *AXES)), becomes=("up",)),
        Field(key="entry", label="The wire is pushed in", default=next(iter(ENTRIES)),
              read=one_of(ENTRIES), becomes=("entry",)),
        Field(key="depth", label="Depth of the channel",
              unit="mm, or say in; “through”; empty: a width beyond the wrist", read=depth_or_none,
              becomes=("depth share", "depth")),
        Field(key="pocket", label="Pocket at the blind end, wide",
              unit=f"{ANY_LENGTH}; 0: none", default="0", read=length_or_zero,
              becomes=("pocket",)),
        Field(key="upright", label="The printer's up, in the file", default="z",
              read=one_of(AXES)),
        Field(key="path", label="The channel runs", default=next(iter(PATHS)),
              read=one_of(PATHS)),
        Field(key="twin", label="Made as", default=TWIN[0], read=one_of(TWIN)),
        *(LIMB_FIELDS[key] for key in ASKED),
    ]
)  # fmt: skip
"""Every field of the page of a maker's own mesh."""
DEFAULTS = {
    **default_form(FIELDS),
    "bent": LIMB_FIELDS["bent"].default,
    **{f"{key}{row}": "" for row in range(1, BEND_ROWS + 1) for key in BEND_KEYS},
}
FIELDS = {key: replace(field, default=DEFAULTS[key]) for key, field in FIELDS.items()}


def depth_share(depth: float | None, line: Line) -> float:
    """Return the share of a line that a channel is deep: as typed [m], 1 for through.

    Where None is typed it ends a width beyond the wrist, or a tenth before the tip.
    """
    if depth is None:
        return min(0.9, (line.limb_length + 2 * line.radius) / line.length)
    if math.isinf(depth):
        return 1.0
    if depth >= line.length:
        whole = f"less than {line.length * 1e3:.4g} mm, the whole line"
        raise refuse("depth", whole, f"{depth * 1e3:.4g} mm")
    return depth / line.length


def suggested_bend(wrist: float) -> dict[str, str]:
    """Return the texts of a bend of 60 degrees over the middle half of a limb. [m]"""
    radius = 0.5 * wrist / math.radians(60.0)
    return {
        "start1": f"{0.25 * wrist * 1e3:.0f}",
        "angle1": "60",
        "radius1": f"{math.floor(radius * 1e3)}",
    }


def mesh_choices(form: Mapping[str, str], keys: tuple[str, ...]) -> dict[str, Any]:
    """Return the values of some fields of the form by key; RefusedFieldsError if one is refused."""
    return FormReader(form, FIELDS).values(keys)


def plan_from_mesh(
    form: Mapping[str, str],
    outlines: Along,
    length: float,
    file: MeshFile,
    hand: Hand | None = None,
    name: str = "limb",
) -> LimbPlan:
    """Return the question that a form asks about a limb measured in a mesh.

    Parameters
    ----------
    form : mapping
        Field key to text.
    outlines, length
        Of the limb, as `flexcalc.mesh.whole.mesh_limb` measures it; length in m.
    file : MeshFile
        What it was measured from; its ``hand_mass`` counts where there is no ``hand``.
    hand : Hand, optional
        What lies beyond the wrist, printed like the limb: its mass is part of the payload.
    name : str
        Of the limb.

    Raises
    ------
    RefusedFieldsError
        With every field that cannot be read, or the field that the inputs refuse.
    """
    texts = {key: form[key] for key in ASKED if key in form}
    # a slicer lays its walls round the channel of a mesh as it does outside
    solid = texts.get("wall", "").strip().lower() in ("", "solid")
    texts |= {"channel": SIZED, "offset": "0", "sleeve": "0" if solid else texts["wall"]}
    plan = plan_from_form(texts, name, own=(outlines, length))
    try:
        return _with_hand(plan, file, hand)
    except ValueError as error:
        raise refused_at(FIELDS, error, "payload") from None


def _with_hand(plan: LimbPlan, file: MeshFile, hand: Hand | None) -> LimbPlan:
    ends = max((bend.end for bend in plan.setting.bends if bend.angle), default=0.0)
    if ends > file.wrist * (1 + 1e-9):
        wrist = f"at most {file.wrist * 1e3:.4g} mm, the wrist"
        raise refuse("bend end", wrist, f"{ends * 1e3:.4g} mm")
    limb = plan.limb
    mass = file.hand_mass
    if hand is not None:
        density = limb.elastomer.density
        mass = round(printed_mass(hand, density, limb.wall, limb.infill), 6)
    return replace(
        plan,
        setting=replace(plan.setting, payload=plan.setting.payload + mass),
        mesh=replace(file, hand_mass=mass),
    )


def form_of_mesh(kept: Mapping[str, Any]) -> dict[str, str]:
    """Return the form that would ask for a limb from a mesh, kept as plain data.

    Raises
    ------
    ValueError
        For what is no limb from a mesh, or has no place in the form.
    """
    plan = limb_plan_from(kept)
    file = plan.mesh
    if file is None:
        raise refuse("limb", "one from a mesh", "another")
    # its outlines have no fields: any other stands for them
    limb = {**kept["limb"], "outline": plain(Round(diameter=0.01))}
    texts = form_from_kept({**kept, "limb": limb, "mesh": None})
    axis = [word for word, vector in AXES.items() if vector == file.up]
    return {
        **DEFAULTS,
        **{key: texts[key] for key in ASKED},
        "unit": file.unit if file.unit in UNITS else OWN_UNIT,
        "root": " ".join(f"{value * 1e3:.6g}" for value in file.root),
        "wrist": f"{file.wrist * 1e3:.6g}",
        "up": axis[0] if axis else OWN_CURVE,
        "path": list(PATHS)[file.roomiest],
        "payload": f"{max(plan.setting.payload - file.hand_mass, 0.0) * 1e3:.6g}",
    }
