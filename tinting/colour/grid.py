"""The grid of all spectra, and the checks of spectra, colours and arrays.

Spectra stand on one grid, 380 to 730 nm in steps of 10 nm (36 bands). A Lab is CIELAB under
D65 for the 10 degree observer unless a light is named beside it.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from data.rules import refuse

Array: TypeAlias = NDArray[np.float64]
wavelengths_nm: Array = np.arange(380.0, 731.0, 10.0)
BANDS = wavelengths_nm.size


def check_spectrum(name: str, value: object) -> Array:
    """Return a read-only float copy of a spectrum of 36 finite values; ValueError otherwise."""
    spectrum = real_numbers(name, value, f"{BANDS} numbers")
    if spectrum.shape != (BANDS,):
        raise refuse(name, f"{BANDS} values, 380 to 730 nm by 10", f"shape {spectrum.shape}")
    if not np.isfinite(spectrum).all():
        raise refuse(name, "finite in every band", "NaN or infinity")
    spectrum.flags.writeable = False
    return spectrum


def check_lab(name: str, value: object) -> Array:
    """Return a read-only CIELAB triple: L* from 0 to 100, a* and b* from -200 to 200."""
    lab = real_numbers(name, value, "three numbers L*, a*, b*")
    if lab.shape != (3,) or not np.isfinite(lab).all():
        raise refuse(name, "three finite numbers L*, a*, b*", value)
    if not (0 <= lab[0] <= 100.5 and np.abs(lab[1:]).max() <= 200):
        raise refuse(name, "L* from 0 to 100 and a*, b* from -200 to 200", lab.tolist())
    lab.flags.writeable = False
    return lab


def check_array(name: str, value: object, width: int, *, least: float, most: float) -> Array:
    """Return a float copy of an array (..., width) with every value between the bounds.

    Parameters
    ----------
    name : str
        What the array is called in the refusal.
    value : object
        Numbers; text, bool, complex, ragged lists, NaN and infinity are refused.
    width : int
        Length of the last axis.
    least, most : float
        Inclusive bounds.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.
    """
    array = real_numbers(name, value, f"an array of numbers, {width} in the last axis")
    if array.ndim == 0 or array.shape[-1] != width:
        raise refuse(name, f"an array with {width} in its last axis", f"shape {array.shape}")
    if array.size == 0:
        raise refuse(name, "an array that holds something", f"shape {array.shape}")
    lowest, highest = float(array.min()), float(array.max())
    if not (lowest >= least and highest <= most):
        raise refuse(name, f"finite and from {least:g} to {most:g}", f"{lowest:g} to {highest:g}")
    return array


def check_shapes(name: str, *arrays: Array) -> None:
    """Raise the ValueError if arrays do not broadcast."""
    try:
        np.broadcast_shapes(*(array.shape for array in arrays))
    except ValueError:
        shapes = " and ".join(str(array.shape) for array in arrays)
        raise refuse(name, "of shapes that fit each other", shapes) from None


def real_numbers(name: str, value: object, rule: str) -> Array:
    """Return a float copy of whatever holds plain real numbers; text, bool, objects are refused."""
    try:
        raw = np.asarray(value)
    except (TypeError, ValueError, OverflowError):
        raise refuse(name, rule, type(value).__name__) from None
    if raw.dtype.kind not in "iuf":
        raise refuse(name, rule, type(value).__name__)
    with np.errstate(over="ignore"):
        return np.array(raw, dtype=np.float64)
