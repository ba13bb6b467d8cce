"""Dye tints on printed TPU: what a coat will look like and what to mix.

Spectra: 36 bands from 380 to 730 nm. Lab: CIELAB under D65 for 10 degree unless said. Volumes: m3.
"""

from tinting.colour.colorimetry import lab, light_names, weights
from tinting.colour.difference import delta_e, match_words
from tinting.colour.grid import wavelengths_nm
from tinting.colour.metamerism import metamerism_index
from tinting.colour.spectrum import lab_of_screen_colour
from tinting.learn.advice import NextSwatch, next_swatch
from tinting.learn.band import Band, estimate_band, predict_band
from tinting.learn.doubts import Fluorescent
from tinting.learn.fit import DyeFit, fit_dyes
from tinting.learn.hand import hand_factor
from tinting.learn.learned import Learned
from tinting.log.hand import keep_hand, kept_hand
from tinting.log.record import SwatchRecord
from tinting.log.swatches import add_swatch, edit_swatch, list_swatches, remove_swatch
from tinting.mix.batch import drops_for, volume_for_area
from tinting.mix.instructions import Mixing, mixing
from tinting.mix.plan import TintPlan
from tinting.mix.vapour import vapour_ppm
from tinting.photo.reading import PhotoReading, measure_swatch
from tinting.photo.strip import StripReading, read_strip
from tinting.recipe.result import Recipe, Recipes
from tinting.recipe.search import find_recipes
from tinting.recipe.steer import Steering, steer
from tinting.skin.absorptivity import dye_from_blot, dye_from_swatch
from tinting.skin.demo import demo_base, demo_dyes
from tinting.skin.dyed import Tint, tint
from tinting.skin.inputs import Base, Dye, Hand, Swatch, base_from_lab, retouch

__all__ = [
    "Band",
    "Base",
    "Dye",
    "DyeFit",
    "Fluorescent",
    "Hand",
    "Learned",
    "Mixing",
    "NextSwatch",
    "PhotoReading",
    "Recipe",
    "Recipes",
    "Steering",
    "StripReading",
    "Swatch",
    "SwatchRecord",
    "Tint",
    "TintPlan",
    "add_swatch",
    "base_from_lab",
    "delta_e",
    "demo_base",
    "demo_dyes",
    "drops_for",
    "dye_from_blot",
    "dye_from_swatch",
    "edit_swatch",
    "estimate_band",
    "find_recipes",
    "fit_dyes",
    "hand_factor",
    "keep_hand",
    "kept_hand",
    "lab",
    "lab_of_screen_colour",
    "light_names",
    "list_swatches",
    "match_words",
    "measure_swatch",
    "metamerism_index",
    "mixing",
    "next_swatch",
    "predict_band",
    "read_strip",
    "remove_swatch",
    "retouch",
    "steer",
    "tint",
    "vapour_ppm",
    "volume_for_area",
    "wavelengths_nm",
    "weights",
]
