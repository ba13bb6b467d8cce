"""Colours by number: spectra, lights and observers, differences, screens; hands on Lab and spectra.

This folder alone imports colour-science, inside the functions that need it.
"""

import warnings

from tinting.colour.colorimetry import lab, lab_from_xyz, light_names, weights, xyz_from_lab
from tinting.colour.difference import delta_e, match_words
from tinting.colour.grid import wavelengths_nm
from tinting.colour.metamerism import metamerism_index
from tinting.colour.screen import srgb_from_hex
from tinting.colour.spectrum import (
    hex_from_lab,
    lab_of_screen_colour,
    smoothest_reflectance,
    srgb_from_lab,
)

# The library says at its first import that its drawings, which nothing here uses, lack another one.
warnings.filterwarnings("ignore", message=r'\s*"Matplotlib" related API features')

__all__ = [
    "delta_e",
    "hex_from_lab",
    "lab",
    "lab_from_xyz",
    "lab_of_screen_colour",
    "light_names",
    "match_words",
    "metamerism_index",
    "smoothest_reflectance",
    "srgb_from_hex",
    "srgb_from_lab",
    "wavelengths_nm",
    "weights",
    "xyz_from_lab",
]
