"""Dye tints on printed TPU: what a coat will look like and what to mix.

Spectra: 36 bands from 380 to 730 nm. Lab: CIELAB under D65 for 10 degree unless said. Volumes: m3.
"""

from tinting.absorptivity import dye_from_swatch
from tinting.band import predict_band
from tinting.batch import (
    drops_for,
    mix_lines,
    parts_text,
    pre_dilution,
    thin_down,
    top_up,
    volume_for_area,
    volume_share,
)
from tinting.colorimetry import lab, lab_from_xyz, light_names, weights, xyz, xyz_from_lab
from tinting.colorimetry_metamerism import (
    metamerism_index,
    metamerism_index_from_lab,
    metamerism_index_from_xyz,
)
from tinting.demo import demo_base, demo_base_names, demo_dyes
from tinting.design import NextSwatch, next_swatch
from tinting.difference import delta_e, delta_e_76
from tinting.fit import DyeFit, fit_dyes
from tinting.inputs import Base, Dye, Swatch, wavelengths_nm
from tinting.log import add_swatch, edit_swatch, list_swatches, redo, remove_swatch, undo
from tinting.optics import (
    absorbance,
    absorption_ratio,
    contrast_ratio,
    double_pass_reflectance,
    finite_layer,
    fresnel_reflection,
    internal_reflectance,
    layer_transmittance,
    measured_reflectance,
    stacked_reflectance,
    thick_reflectance,
    transmittance,
)
from tinting.photo import PhotoReading, measure_swatch
from tinting.picture import Picture, read_picture
from tinting.plan import TintPlan
from tinting.recipe import find_recipes
from tinting.screen import hex_from_srgb, in_gamut, lab_from_srgb, srgb, srgb_from_hex
from tinting.skin import Tint, tint
from tinting.spectrum import base_from_lab, lab_of_screen_colour, smoothest_reflectance
from tinting.swatches import SwatchRecord
from tinting.uptake import dye_load
from tinting.vapour import evaporation, vapour_ppm

__all__ = [
    "Base",
    "Dye",
    "DyeFit",
    "NextSwatch",
    "PhotoReading",
    "Picture",
    "Swatch",
    "SwatchRecord",
    "Tint",
    "TintPlan",
    "absorbance",
    "absorption_ratio",
    "add_swatch",
    "base_from_lab",
    "contrast_ratio",
    "delta_e",
    "delta_e_76",
    "demo_base",
    "demo_base_names",
    "demo_dyes",
    "double_pass_reflectance",
    "drops_for",
    "dye_from_swatch",
    "dye_load",
    "edit_swatch",
    "evaporation",
    "find_recipes",
    "finite_layer",
    "fit_dyes",
    "fresnel_reflection",
    "hex_from_srgb",
    "in_gamut",
    "internal_reflectance",
    "lab",
    "lab_from_srgb",
    "lab_from_xyz",
    "lab_of_screen_colour",
    "layer_transmittance",
    "light_names",
    "list_swatches",
    "measure_swatch",
    "measured_reflectance",
    "metamerism_index",
    "metamerism_index_from_lab",
    "metamerism_index_from_xyz",
    "mix_lines",
    "next_swatch",
    "parts_text",
    "pre_dilution",
    "predict_band",
    "read_picture",
    "redo",
    "remove_swatch",
    "smoothest_reflectance",
    "srgb",
    "srgb_from_hex",
    "stacked_reflectance",
    "thick_reflectance",
    "thin_down",
    "tint",
    "top_up",
    "transmittance",
    "undo",
    "vapour_ppm",
    "volume_for_area",
    "volume_share",
    "wavelengths_nm",
    "weights",
    "xyz",
    "xyz_from_lab",
]
