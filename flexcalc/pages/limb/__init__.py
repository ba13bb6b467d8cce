"""The limb page: a board to pose the limb on, the answer beside it, and the fields."""

from flexcalc.pages.limb.ask import (
    limb_fields,
    typed_outline,
    typed_plan,
    typed_surface_area,
)
from flexcalc.pages.limb.page import NOT_A_TOY, show_limb_page

__all__ = [
    "NOT_A_TOY",
    "limb_fields",
    "show_limb_page",
    "typed_outline",
    "typed_plan",
    "typed_surface_area",
]
