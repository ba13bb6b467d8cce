"""Which uncertain input drives a result, and therefore what to measure next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from data.rules import Array

MEASURES = {
    "modulus": "clamp a printed strip level at one end and measure how far its tip droops",
    "strength": "bend the wire round a mandrel, let go, and measure the angle before and after",
    "hardening exponent": "bend the wire round two mandrels of different size and compare",
    "wire diameter": "measure the wire with a micrometer",
    "wall": "cut a printed piece across and measure its wall",
    "infill exponent": "print the droop strip with the limb's own wall and infill",
    "back-stress share": "bend one finished limb, let go, and measure the angle it keeps",
    "relaxation exponent": "look at the droop strip again after an hour",
    "wire turning": "anchor the wire at the root: bend or flatten its end and hold it in a slot",
    "payload": "weigh what the hand is to carry",
    "model's own error": "bend one finished limb, let go, and measure the angle it keeps",
    "room's temperature": "put a thermometer beside the limb and type what it says, as 21 ± 1",
    "saturation stress": "bend one finished limb, let go, and measure the angle it keeps",
    "how it is bent": "mark where to press, one place every 25 mm, and type how well you meet the "
    "marks, as 3 ± 0, or bend it round a former",
}
WORDS = {
    "strength": "the strength of the wire",
    "hardening exponent": "how the wire hardens",
    "infill exponent": "what the infill bears",
    "back-stress share": "how soon the wire yields when it is bent back",
    "relaxation exponent": "how the print tires",
    "saturation stress": "how much the print softens when it is bent far",
}
"""What an input is called in a sentence, where its name is a handbook's."""
HIGHEST_DEGREE = 4
SAMPLES_PER_TERM = 6


@dataclass(frozen=True, kw_only=True)
class Driver:
    """One uncertain input: ``share`` of the variance of the worst bend's retained share, and
    ``sag_share`` of the tip's sag, that would go if the input were known; ``measure`` says how
    to come to know it.
    """

    name: str
    share: float
    sag_share: float
    measure: str


def ranked_drivers(drawn: Mapping[str, Array], kept: Array, sag: Array) -> tuple[Driver, ...]:
    """Return every drawn input with its first-order sensitivities, the strongest first.

    Parameters
    ----------
    drawn : mapping
        Name to values (samples,), drawn independently of each other.
    kept, sag : array (samples,)
        The two results.
    """
    shares, sag_shares = first_order_shares(drawn, kept), first_order_shares(drawn, sag)
    found = [
        Driver(name=name, share=shares[name], sag_share=sag_shares[name], measure=MEASURES[name])
        for name in drawn
    ]
    return tuple(sorted(found, key=lambda driver: (-driver.share, -driver.sag_share)))


def first_order_shares(drawn: Mapping[str, Array], result: Array) -> dict[str, float]:
    """Return for each input the variance of the result's mean given it, over the whole variance.

    Parameters
    ----------
    drawn : mapping
        Name to values (samples,), drawn independently of each other.
    result : array (samples,)
        The result.

    Returns
    -------
    dict
        Name to 0 to 1; all 0 where nothing varies or the samples are too few for a line each.

    Notes
    -----
    Least squares of a sum of Legendre polynomials, one of each input's rank; ranks spread
    evenly, so the squared coefficients add up to each input's variance. Source: definition of
    the first-order Sobol index.
    """
    varied = [name for name, values in drawn.items() if np.ptp(values) > 0]
    shares = dict.fromkeys(drawn, 0.0)
    count, whole = len(result), float(np.var(result))
    degree = min(HIGHEST_DEGREE, count // (SAMPLES_PER_TERM * max(len(varied), 1)))
    if degree == 0 or not varied or whole <= 1e-12 * float(np.mean(result**2)):
        return shares
    scale = np.sqrt(2 * np.arange(1, degree + 1) + 1)
    terms = []
    for name in varied:
        ranks = np.argsort(np.argsort(drawn[name], kind="stable"), kind="stable")
        even = (2 * ranks + 1) / count - 1
        terms.append(np.polynomial.legendre.legvander(even, degree)[:, 1:] * scale)
    table = np.concatenate([np.ones((count, 1)), *terms], axis=1)
    fitted = np.linalg.lstsq(table, result, rcond=None)[0][1:].reshape(-1, degree)
    for name, coefficients in zip(varied, fitted, strict=True):
        shares[name] = min(float(np.sum(coefficients**2)) / whole, 1.0)
    return shares


def measure_next(drivers: tuple[Driver, ...]) -> str:
    """Return the sentence that names the two inputs to measure first."""
    telling = [driver for driver in drivers[:2] if driver.share > 0.02]
    if not telling:
        return "No single input drives the band."
    parts = []
    for measure in dict.fromkeys(driver.measure for driver in telling):
        # one reading teaches of every input that it stands for
        same = [driver for driver in drivers if driver.measure == measure and driver.share > 0.005]
        whole = sum(driver.share for driver in same)
        names = [WORDS.get(driver.name, f"the {driver.name}") for driver in same]
        listed = " and ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names)
        listed = listed.replace("the how", "how")
        parts.append(f"{measure} ({whole:.0%} of the band: {listed})")
    said = "; then ".join(parts)
    return f"{said[0].upper()}{said[1:]}."
