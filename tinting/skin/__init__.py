"""The dyed skin over its own base: hands on what a base looks like under some coats of dye."""

from tinting.skin.absorptivity import dye_from_blot, dye_from_swatch
from tinting.skin.demo import demo_base, demo_base_names, demo_dyes
from tinting.skin.dyed import Tint, dyed_reflectance, tint
from tinting.skin.inputs import Base, Dye, Hand, Swatch, base_from_lab, retouch
from tinting.skin.uptake import dye_load

__all__ = [
    "Base",
    "Dye",
    "Hand",
    "Swatch",
    "Tint",
    "base_from_lab",
    "demo_base",
    "demo_base_names",
    "demo_dyes",
    "dye_from_blot",
    "dye_from_swatch",
    "dye_load",
    "dyed_reflectance",
    "retouch",
    "tint",
]
