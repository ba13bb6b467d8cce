"""Dye tints on printed TPU: what a coat will look like and what to mix.

Spectra: 36 bands from 380 to 730 nm. Lab: CIELAB under D65 for 10 degree unless said. Volumes: m3.
"""

from tinting.absorptivity import dye_from_swatch
from tinting.band import Band, predict_band
from tinting.batch import drops_for, volume_for_area
from tinting.colorimetry import lab, light_names, weights
from tinting.colorimetry_metamerism import metamerism_index
from tinting.demo import demo_base, demo_dyes
from tinting.design import NextSwatch, next_swatch
from tinting.difference import delta_e, match_words
from tinting.fit import DyeFit, fit_dyes
from tinting.grid import wavelengths_nm
from tinting.inputs import Base, Dye, Swatch, base_from_lab
from tinting.judged import Fluorescent
from tinting.learned import Learned, learn
from tinting.log import add_swatch, edit_swatch, list_swatches, remove_swatch
from tinting.mixing import Mixing, mixing
from tinting.photo import PhotoReading, measure_swatch
from tinting.plan import TintPlan
from tinting.recipe import find_recipes
from tinting.recipe_result import Recipe, Recipes
from tinting.skin import Tint, tint
from tinting.spectrum import lab_of_screen_colour
from tinting.swatches import SwatchRecord
from tinting.vapour import vapour_ppm

__all__ = [
    "Band",
    "Base",
    "Dye",
    "DyeFit",
    "Fluorescent",
    "Learned",
    "Mixing",
    "NextSwatch",
    "PhotoReading",
    "Recipe",
    "Recipes",
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
    "dye_from_swatch",
    "edit_swatch",
    "find_recipes",
    "fit_dyes",
    "lab",
    "lab_of_screen_colour",
    "learn",
    "light_names",
    "list_swatches",
    "match_words",
    "measure_swatch",
    "metamerism_index",
    "mixing",
    "next_swatch",
    "predict_band",
    "remove_swatch",
    "tint",
    "vapour_ppm",
    "volume_for_area",
    "wavelengths_nm",
    "weights",
]
