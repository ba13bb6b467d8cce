"""Colours of the 24-patch chart: from its published XYZ, and from measured spectra.

Both tables computed once with colour-science 0.4.7 (its data for the chart after the change of
November 2014; its average of many measured charts, method ASTM E308, 2 degree observer). The
spectra themselves are read from the library: the chart whose spectra stand on our own grid.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.charts import shipped_charts
from tinting.colour.colorimetry import lab, lab_from_xyz, white, xyz
from tinting.colour.grid import Array
from tinting.colour.screen import adaptation_matrix

TOLERANCE = 0.02  # of the reference, whose whites come from rounded xy
# patch: XYZ under D50, Lab under D50, Lab after Bradford adaptation to D65
PUBLISHED = {
    "light skin": ((38.111, 33.62, 18.526), (64.66, 19.27, 17.5), (64.37, 18.02, 17.05)),
    "blue sky": ((16.525, 17.855, 25.46), (49.32, -3.82, -22.54), (49.62, -1.18, -22.17)),
    "foliage": ((11.144, 13.468, 5.239), (43.46, -12.74, 22.72), (43.35, -14.64, 22.86)),
    "blue flower": ((24.198, 22.872, 32.821), (54.94, 9.61, -24.79), (55.18, 12.14, -24.57)),
    "bluish green": ((30.451, 41.436, 34.435), (70.48, -32.26, -0.37), (70.67, -31.94, 0.08)),
    "moderate red": ((29.15, 18.9, 9.736), (50.57, 48.64, 16.67), (50.06, 48.1, 15.6)),
    "purple": ((8.354, 6.277, 10.421), (30.1, 22.54, -20.87), (30.21, 24.39, -20.88)),
    "orange yellow": ((47.697, 42.934, 6.005), (71.51, 18.24, 67.37), (70.96, 14.75, 67.25)),
    "blue": ((6.809, 5.596, 20.774), (28.37, 15.42, -49.8), (29.15, 21.67, -48.74)),
    "green": ((14.135, 22.334, 7.287), (54.38, -39.72, 32.27), (54.35, -42.68, 32.87)),
    "yellow": ((58.889, 59.93, 7.077), (81.8, 2.67, 80.41), (81.3, -1.87, 80.92)),
    "magenta": ((29.912, 18.951, 22.135), (50.63, 51.28, -14.12), (50.4, 52.49, -14.82)),
    "cyan": ((12.48, 18.061, 29.134), (49.57, -29.71, -28.32), (50.1, -24.98, -27.52)),
    "white 9.5 (.05 D)": ((84.37, 88.069, 69.368), (95.19, -1.03, 2.93), (95.17, -1.3, 2.92)),
    "neutral 6.5 (.44 D)": ((34.959, 36.487, 30.136), (66.89, -0.75, -0.06), (66.9, -0.74, -0.05)),
    "neutral 3.5 (1.05 D)": ((8.449, 8.817, 7.392), (35.63, -0.46, -0.48), (35.64, -0.41, -0.47)),
}
# patch: light, XYZ, Lab
MEASURED = [
    ("light skin", "D50", (39.423, 35.239, 19.373), (65.93, 17.94, 17.88)),
    ("light skin", "D65", (37.195, 34.569, 25.239), (65.41, 14.81, 17.51)),
    ("light skin", "A", (49.322, 37.69, 8.606), (67.79, 21.7, 19.87)),
    ("foliage", "D50", (10.962, 13.334, 5.32), (43.26, -13.23, 21.98)),
    ("foliage", "D65", (10.595, 13.327, 6.944), (43.25, -14.77, 22.25)),
    ("foliage", "A", (12.722, 13.127, 2.374), (42.95, -10.39, 20.53)),
    ("blue flower", "D50", (24.392, 23.235, 33.117), (55.31, 8.84, -24.57)),
    ("blue flower", "D65", (24.805, 23.449, 43.919), (55.53, 11.2, -24.44)),
    ("blue flower", "A", (26.549, 22.814, 14.032), (54.88, 5.93, -24.45)),
    ("bluish green", "D50", (30.478, 41.735, 34.506), (70.69, -33.06, -0.1)),
    ("bluish green", "D65", (30.939, 42.658, 44.864), (71.32, -32.44, 1.73)),
    ("bluish green", "A", (31.787, 38.32, 15.337), (68.26, -32.46, -5.8)),
    ("orange", "D50", (40.481, 31.174, 4.855), (62.65, 35.37, 57.82)),
    ("orange", "D65", (37.168, 29.669, 6.336), (61.37, 32.15, 55.89)),
    ("orange", "A", (52.959, 36.39, 2.182), (66.82, 35.09, 63.93)),
    ("moderate red", "D50", (30.096, 19.789, 10.2), (51.6, 47.8, 16.92)),
    ("moderate red", "D65", (27.669, 18.703, 13.531), (50.34, 45.44, 14.57)),
    ("moderate red", "A", (40.081, 23.804, 4.346), (55.89, 47.41, 24.72)),
    ("yellow green", "D50", (35.392, 44.349, 8.986), (72.46, -23.3, 57.01)),
    ("yellow green", "D65", (33.657, 44.207, 11.323), (72.37, -27.15, 58.31)),
    ("yellow green", "A", (41.999, 44.029, 4.404), (72.25, -17.48, 52.48)),
    ("orange yellow", "D50", (48.831, 43.578, 5.995), (71.95, 19.47, 68.17)),
    ("orange yellow", "D65", (45.235, 42.069, 7.771), (70.92, 15.73, 66.9)),
    ("orange yellow", "A", (62.258, 48.378, 2.757), (75.06, 21.27, 71.75)),
    ("blue", "D50", (6.968, 5.796, 21.382), (28.89, 14.76, -50.11)),
    ("blue", "D65", (7.985, 6.118, 28.344), (29.71, 21.96, -48.89)),
    ("blue", "A", (5.631, 5.006, 8.919), (26.75, 1.46, -52.38)),
    ("green", "D50", (14.998, 23.082, 7.789), (55.16, -37.81, 31.62)),
    ("green", "D65", (14.651, 23.442, 9.855), (55.53, -40.21, 33.52)),
    ("green", "A", (16.645, 21.414, 3.757), (53.4, -32.57, 25.13)),
    ("cyan", "D50", (13.487, 19.041, 30.15), (50.73, -28.11, -27.92)),
    ("cyan", "D65", (14.636, 19.962, 39.314), (51.79, -24.22, -25.53)),
    ("cyan", "A", (12.128, 16.106, 13.198), (47.11, -32.17, -34.87)),
    ("white 9.5 (.05 D)", "D50", (87.763, 91.281, 72.544), (96.53, -0.47, 2.41)),
    ("white 9.5 (.05 D)", "D65", (86.237, 91.237, 95.419), (96.51, -0.9, 2.59)),
    ("white 9.5 (.05 D)", "A", (100.471, 91.404, 31.429), (96.58, 0.11, 2.22)),
    ("neutral 8 (.23 D)", "D50", (56.484, 58.846, 48.321), (81.21, -0.63, 0.27)),
    ("neutral 8 (.23 D)", "D65", (55.676, 58.862, 63.671), (81.22, -0.68, 0.37)),
    ("neutral 8 (.23 D)", "A", (64.276, 58.778, 20.872), (81.17, -0.63, 0.13)),
    ("neutral 5 (.70 D)", "D50", (18.313, 19.117, 15.834), (50.82, -0.63, -0.15)),
    ("neutral 5 (.70 D)", "D65", (18.074, 19.129, 20.879), (50.84, -0.57, -0.09)),
    ("neutral 5 (.70 D)", "A", (20.779, 19.074, 6.831), (50.77, -0.8, -0.24)),
    ("neutral 3.5 (1.05 D)", "D50", (8.553, 8.94, 7.484), (35.87, -0.58, -0.43)),
    ("neutral 3.5 (1.05 D)", "D65", (8.451, 8.948, 9.875), (35.88, -0.48, -0.4)),
    ("neutral 3.5 (1.05 D)", "A", (9.686, 8.91, 3.226), (35.81, -0.77, -0.51)),
    ("black 2 (1.5 D)", "D50", (3.093, 3.201, 2.68), (20.83, 0.13, -0.31)),
    ("black 2 (1.5 D)", "D65", (3.053, 3.201, 3.54), (20.83, 0.18, -0.33)),
    ("black 2 (1.5 D)", "A", (3.518, 3.2, 1.154), (20.83, 0.04, -0.27)),
]


@cache
def chart_spectra() -> dict[str, Array]:
    for chart in shipped_charts():
        sds = list(chart.values())
        if len(sds) == 24 and (sds[0].shape.start, sds[0].shape.interval) == (380, 10):
            return {name: sd.values for name, sd in chart.items() if sd.values.size == 36}
    raise LookupError("no chart on the grid")


@pytest.mark.parametrize("patch", PUBLISHED)
def test_lab_and_adaptation_of_published_xyz(patch: str) -> None:
    values, lab_d50, lab_d65 = PUBLISHED[patch]
    assert np.abs(lab_from_xyz(values, "D50", 2) - lab_d50).max() <= TOLERANCE
    adapted = adaptation_matrix(white("D50", 2), white("D65", 2)) @ np.array(values)
    assert np.abs(lab_from_xyz(adapted, "D65", 2) - lab_d65).max() <= TOLERANCE


@pytest.mark.parametrize(("patch", "light", "values", "colour_lab"), MEASURED)
def test_measured_spectra(
    patch: str, light: str, values: tuple[float, ...], colour_lab: tuple[float, ...]
) -> None:
    spectrum = chart_spectra()[patch]
    assert np.abs(xyz(spectrum, light, 2) - values).max() <= TOLERANCE
    assert np.abs(lab(spectrum, light, 2) - colour_lab).max() <= TOLERANCE
