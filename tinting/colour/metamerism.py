"""How far two equal colours part under another light: the metamerism index of ISO 18314-4."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from data.rules import check_choice, refuse
from tinting.colour.colorimetry import lab
from tinting.colour.grid import BANDS, Array, check_array

CORRECTIONS = ("additive", "multiplicative")
METHODS = ("CIE 2000", "CIE 1976")


def metamerism_index(
    standard: object,
    sample: object,
    test_light: str = "A",
    reference_light: str = "D65",
    observer: int = 10,
) -> float:
    """Return how far a sample drifts from its standard when the light changes.

    Parameters
    ----------
    standard, sample : array_like (36,)
        Reflectances; what they already differ by under the reference light is taken out.
    test_light, reference_light : str
        Names of lights.
    observer : int
        2 or 10. [degree]

    Returns
    -------
    float
        Index by ISO 18314-4 with the additive correction in CIELAB, as CIEDE2000. [dE]
    """
    spectra = {}
    for name, value in (("sample", sample), ("standard", standard)):
        spectra[name] = check_array(name, value, BANDS, least=0.0, most=10.0)
        if spectra[name].shape != (BANDS,):
            raise refuse(name, f"one spectrum of {BANDS}", f"shape {spectra[name].shape}")
    under = [
        lab(spectra[name], light, observer)
        for light in (test_light, reference_light)
        for name in ("sample", "standard")
    ]
    return metamerism_index_from_lab(under[0], under[1], under[2], under[3])


def metamerism_index_from_lab(
    sample_test: object,
    standard_test: object,
    sample_reference: object,
    standard_reference: object,
    correction: str = "additive",
    method: str = "CIE 2000",
) -> float:
    """Return the index from four CIELAB colours (3,): sample and standard, under two lights.

    ``correction`` is "additive" or "multiplicative", ``method`` "CIE 2000" or "CIE 1976".
    Source: colour-science, `Lab_to_metamerism_index`.
    """
    four = _four(
        correction, method, sample_test, standard_test, sample_reference, standard_reference
    )
    from colour.difference import Lab_to_metamerism_index

    return float(
        Lab_to_metamerism_index(**_named("Lab", four), correction=correction, method=method)
    )


def _four(correction: str, method: str, *colours: object) -> list[Array]:
    check_choice("correction", correction, CORRECTIONS)
    check_choice("method", method, METHODS)
    names = ("sample_test", "standard_test", "sample_reference", "standard_reference")
    four = []
    for name, value in zip(names, colours, strict=True):
        four.append(check_array(name, value, 3, least=-1000, most=1000))
        if four[-1].shape != (3,):
            raise refuse(name, "one triple", f"shape {four[-1].shape}")
    if correction == "multiplicative" and np.abs(four[2]).min() < 1e-9:
        raise refuse("sample_reference", "without a zero for the multiplicative way", four[2])
    return four


def _named(space: str, four: list[Array]) -> Mapping[str, Array]:
    """The four colours by the library's own argument names."""
    return dict(
        zip((f"{space}_{part}" for part in ("spl_t", "std_t", "spl_r", "std_r")), four, strict=True)
    )
