"""What is typed about drops that were weighed and a jar that stood open, and what follows.

Texts in, numbers out, every refusal beside its field, as in `tinting.form`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from data.page.form import FormReader, whole_form
from data.rules import check_number
from tinting.batch import drop_volume_by_weight, thin_down, top_up, volume_share
from tinting.form import read_number
from tinting.vapour import OpenJar, evaporation

DEFAULTS: dict[str, str] = {
    "counted": "50",
    "weighed": "1.26",
    "left": "6",
    "wanted": "4",
    "mouth": "40",
    "open": "60",
}
_BLAME = {
    "counted drops": "counted",
    "mass of the drops": "weighed",
    "volume of one drop": "weighed",
    "volume": "left",
    "open area": "mouth",
    "time": "open",
}


@dataclass(frozen=True, kw_only=True)
class JarAdvice:
    """What to do with what is left of a mix.

    To come to ``share_wanted`` add ``dye`` [m3], the dyes as they come in the proportion of the
    mix, or ``alcohol`` [m3]; one of the two is 0. ``stood`` is the mix after standing open.
    """

    share_now: float
    share_wanted: float
    dye: float
    alcohol: float
    stood: OpenJar


def drop_from_form(form: Mapping[str, str]) -> float:
    """Return the volume of one drop by the drops counted and the grams weighed. [m3]

    Raises
    ------
    RefusedFieldsError
        With the fields that cannot be read.
    """
    reader = FormReader(whole_form(form, DEFAULTS), _BLAME)
    drops = reader.get("counted", lambda text: read_number("counted drops", text))
    grams = reader.get("weighed", lambda text: read_number("mass of the drops", text))
    reader.stop_at_errors()
    volume = reader.build(
        # how many drops are refused is for the counting to say, not a rounding
        "counted",
        lambda: drop_volume_by_weight(drops, grams / 1000),  # type: ignore[arg-type]
    )
    reader.stop_at_errors()
    return volume


def jar_from_form(form: Mapping[str, str], share: float) -> JarAdvice:
    """Return what to do with the rest of a mix.

    Parameters
    ----------
    form : mapping
        "left" [mL] in the jar, "wanted" parts of alcohol to 1 part of dyes, "mouth" [mm] of the
        jar and "open", how long it stood open [min].
    share : float
        Volume share of all dyes together in the mix, above 0.

    Raises
    ------
    RefusedFieldsError
        With the fields that cannot be read.
    """
    now = check_number("share", share, above=0.0, most=1.0)
    reader = FormReader(whole_form(form, DEFAULTS), _BLAME)
    left = reader.get("left", _typed("left in the jar", 1e-6, least=0.01, most=1e5))
    parts = reader.get("wanted", _typed("parts of alcohol wanted", 1.0, least=0.01, most=1e5))
    mouth = reader.get("mouth", _typed("mouth of the jar", 1e-3, most=1000))
    minutes = reader.get("open", _typed("time", 60.0, most=1e6))
    reader.stop_at_errors()
    wanted = volume_share(1.0, parts)
    return JarAdvice(
        share_now=now,
        share_wanted=wanted,
        dye=top_up(left, now, wanted) if wanted > now else 0.0,
        alcohol=thin_down(left, now, wanted) if wanted < now else 0.0,
        stood=evaporation(left, now, math.pi / 4 * mouth**2, minutes),
    )


def _typed(name: str, scale: float, *, least: float = 0.0, most: float) -> Callable[[str], float]:
    return lambda text: check_number(name, read_number(name, text), least=least, most=most) * scale
