"""Write the tables of light, observer and usual spectra: `python -m tests.scripts.colour_tables`.

They are those of colour-science, which takes over a second to import; a test holds them equal.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from data.rules import Array
from tinting.colour.colorimetry import LIGHTS, OBSERVERS, TABLES

MATCHING = {
    2: "CIE 1931 2 Degree Standard Observer",
    10: "CIE 1964 10 Degree Standard Observer",
}


def library_weights(light: str, observer: int) -> Array:
    """Return the weighting factors (36, 3) of ASTM E2022 and E308 from the library."""
    from colour import MSDS_CMFS, SDS_ILLUMINANTS, SpectralShape
    from colour.colorimetry import (
        adjust_tristimulus_weighting_factors_ASTME308,
        tristimulus_weighting_factors_ASTME2022,
    )

    # the steps of the library's own integration, without the warnings it gives on the way;
    # copies, since aligning works in place
    span, ours = SpectralShape(360, 780, 1), SpectralShape(380, 730, 10)
    matching = MSDS_CMFS[MATCHING[observer]].copy().trim(span)
    spectrum = SDS_ILLUMINANTS[LIGHTS[light]].copy().align(span)
    whole = SpectralShape(360, 780, 10)
    table = tristimulus_weighting_factors_ASTME2022(matching, spectrum, whole)
    table = adjust_tristimulus_weighting_factors_ASTME308(table, whole, ours)
    return np.asarray(table, dtype=np.float64)


def library_tables() -> dict[str, Any]:
    """Return all tables as plain data."""
    from colour.recovery.otsu2018 import DATASET_REFERENCE_OTSU2018 as OTSU

    basis, means, tree = OTSU.basis_functions, OTSU.means, OTSU.selector_array
    if basis is None or means is None or tree is None:
        raise RuntimeError("the library has no basis of usual spectra")
    weights = {
        f"{light}, {observer} degree": library_weights(light, observer).T.tolist()
        for light in LIGHTS
        for observer in OBSERVERS
    }
    return {
        "source": "colour-science: weighting factors of ASTM E2022 and E308 for the CIE's lights "
        "and observers, 380 to 730 nm by 10 nm; basis of Otsu, Yamamoto and Hachisuka (2018)",
        "weights": weights,
        "basis": basis.tolist(),
        "means": means.tolist(),
        "tree": tree.tolist(),
    }


if __name__ == "__main__":
    TABLES.write_text(json.dumps(library_tables(), separators=(",", ":")) + "\n", encoding="utf-8")
