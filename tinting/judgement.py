"""What a colour difference means to an eye, in the trade's own scales.

The grey scale is defined on the plain CIELAB distance, the words on CIEDE2000: never exchange
them.
"""

from __future__ import annotations

from data import read_table
from data.rules import check_number
from tinting.colorimetry import delta_e_76
from tinting.inputs import check_lab

_CONSTANTS = read_table("constants")
GREY_SCALE = {grade: row.value for grade, row in _CONSTANTS["grey scale"].items()}
"""Grade of the grey scale for change in colour -> CIELAB distance, 5 (no change) to 1."""
_STEPS = _CONSTANTS["colour difference"]


def fading_grade(before: object, after: object) -> str:
    """Return the grey-scale grade of a change in colour, "5" for none to "1" for a strong one.

    Parameters
    ----------
    before, after : array_like (3,)
        CIELAB of one swatch under one light for one observer.

    Notes
    -----
    The grade whose CIELAB distance is nearest; more than the last step stays "1". Source: ISO
    105-A02. Light, rubbing and washing are tests of their own (ISO 105-B02, X12, C06).
    """
    change = float(delta_e_76(check_lab("lab before", before), check_lab("lab after", after)))
    return min(GREY_SCALE, key=lambda grade: abs(GREY_SCALE[grade] - change))


def match_words(difference: float) -> str:
    """Return what a CIEDE2000 difference looks like, in words. [dE]

    Half of all observers see 0.8 and half accept 1.8 (ceramics, Paravina 2015); the steps of 1,
    2 and 5 are rules of thumb of the trade and no standard.
    """
    size = check_number("colour difference", difference, least=0.0, most=1000.0, unit="dE")
    for quantity, words in (
        ("perceptible", "not to be told apart by most"),
        ("good_match", "a good match"),
        ("acceptable", "accepted by most"),
        ("commercial_match", "a commercial match"),
        ("obvious", "visibly different"),
    ):
        if size <= _STEPS[quantity].value:
            return words
    return "obviously different"
