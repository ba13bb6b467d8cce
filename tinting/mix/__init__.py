"""A planned tint at the bench: hands on drops, volumes, the work in order, what the air holds."""

from tinting.mix.appearance import look, under_lights
from tinting.mix.batch import drops_for, parts_text, pre_dilution, volume_for_area, volume_share
from tinting.mix.instructions import Mixing, mixing
from tinting.mix.ladder import Ladder, tint_ladder
from tinting.mix.plan import TintPlan, plain, tint_plan_from
from tinting.mix.vapour import evaporation, vapour_ppm

__all__ = [
    "Ladder",
    "Mixing",
    "TintPlan",
    "drops_for",
    "evaporation",
    "look",
    "mixing",
    "parts_text",
    "plain",
    "pre_dilution",
    "tint_ladder",
    "tint_plan_from",
    "under_lights",
    "vapour_ppm",
    "volume_for_area",
    "volume_share",
]
