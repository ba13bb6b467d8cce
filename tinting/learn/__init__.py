"""Dyes learned from swatches: hands on a fit, its band, the swatch to
paint next, and how much a hand lays on."""

from tinting.learn.advice import NextSwatch, next_swatch
from tinting.learn.band import Band, estimate_band, predict_band
from tinting.learn.doubts import Fluorescent
from tinting.learn.fit import DyeFit, fit_dyes
from tinting.learn.hand import hand_factor
from tinting.learn.learned import Learned, learn

__all__ = [
    "Band",
    "DyeFit",
    "Fluorescent",
    "Learned",
    "NextSwatch",
    "estimate_band",
    "fit_dyes",
    "hand_factor",
    "learn",
    "next_swatch",
    "predict_band",
]
