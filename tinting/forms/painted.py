"""A part that is being painted: how many coats lie on it and what it reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from data.page.form import Field, FormReader, fields_by_key, whole_number
from data.rules import check_text
from tinting.forms.tint import colour
from tinting.learn.fit import DyeFit
from tinting.mix.plan import TintPlan
from tinting.recipe.steer import Steering, steer
from tinting.skin.inputs import Dye


def _limb_name(text: str, name: str) -> str:
    return check_text(name, text.strip(), 80, empty=True)


PAINTED = fields_by_key(
    [
        Field(key="painted", label="On the part now: coats", default="1",
              read=whole_number(least=0, most=19), becomes=("coats",)),
        Field(key="reads", label="It reads, dry", unit="#rrggbb, or L a b under D65",
              read=colour, becomes=("lab", "lab and coats")),
        Field(key="limb", label="Name of the limb, for the bench card", read=_limb_name,
              becomes=("limb",)),
        Field(key="faded", label="The tinted part reads today", unit="#rrggbb, or L a b under D65",
              read=colour, becomes=("faded lab",)),
    ]
)  # fmt: skip


def steering_from_form(
    form: Mapping[str, str], plan: TintPlan, dyes: Sequence[Dye] = (), fit: DyeFit | None = None
) -> Steering:
    """Return how to go on with a part that was painted by a plan.

    Raises
    ------
    RefusedFieldsError
        With every field that cannot be read, or the field that is refused.
    """
    reader = FormReader(form, PAINTED)
    value = reader.values(("painted",))
    reading = reader.values(("reads",))["reads"] if reader.form["reads"].strip() else None
    return reader.built(
        "reads",
        lambda: steer(
            plan.base,
            [(dye, share) for dye, share in plan.mix if share > 0],
            value["painted"],
            reading,
            plan.target,
            dyes=dyes,
            fit=fit,
            hand=plan.hand,
            batch_volume=plan.batch_volume,
            drop_volume=plan.drop_volume,
        ),
    )
