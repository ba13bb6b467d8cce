"""What a maker allows a recipe: how many coats and dyes, how much dye, and which batch."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from data.page.form import Field, FormReader, default_form, fields_by_key, number, whole_number
from data.rules import check_kind
from tinting.mix.plan import TintPlan

BY_JAR, BY_SURFACE = "the batch as typed", "what the surface takes with its coats"
BATCHES = (BY_JAR, BY_SURFACE)
LIMITS = fields_by_key(
    [
        Field(key="mostcoats", label="Most coats", default="5",
              read=whole_number(least=1, most=20), becomes=("max coats",)),
        Field(key="mostdyes", label="Most dyes in a mix", default="3",
              read=whole_number(least=1, most=3), becomes=("max dyes",)),
        Field(key="mostshare", label="Most dye in a mix", unit="%", default="50",
              read=number(least=0.01, most=100.0, per=100.0, sign="%"), becomes=("max share",)),
        Field(key="mixed", label="Drops for", default=BY_JAR, becomes=("batch volume", "surface")),
    ]
)  # fmt: skip
DEFAULTS = default_form(LIMITS)


def limits_from_form(form: Mapping[str, str], plan: TintPlan) -> dict[str, Any]:
    """Return the arguments of `tinting.recipe.search.find_recipes` that limit a recipe.

    Raises
    ------
    RefusedFieldsError
        With every field that cannot be read.
    """
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    reader = FormReader(form, LIMITS)
    value = reader.values(("mostcoats", "mostdyes", "mostshare"))
    by_surface = reader.form["mixed"] == BY_SURFACE
    return {
        "max_coats": value["mostcoats"],
        "max_dyes": value["mostdyes"],
        "max_share": value["mostshare"],
        "batch_volume": None if by_surface else plan.batch_volume,
        "surface": plan.area if by_surface else None,
    }
