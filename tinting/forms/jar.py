"""What is typed about drops that were weighed and a jar that stood open, and what follows.

Texts in, numbers out, every refusal beside its field, as in `tinting.forms.tint`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from data.page.form import Field, FormReader, default_form, fields_by_key, measured, number
from data.page.measures import KILOGRAMS, METRES, MILLILITRES, MINUTES
from data.rules import check_number
from tinting.forms.spellings import thinning
from tinting.mix.batch import drop_volume_by_weight, thin_down, top_up, volume_share
from tinting.mix.vapour import OpenJar, evaporation

DROP = (
    Field(key="counted", label="Drops counted", unit="50 is a good number", default="50",
          read=number(), becomes=("counted drops",)),
    Field(key="weighed", label="What they weigh", unit="g", default="1.26",
          read=measured(KILOGRAMS, least=-1e9, most=1e9, example="1.26"),
          becomes=("mass of the drops", "volume of one drop")),
)  # fmt: skip
JAR = (
    Field(key="left", label="Left in the jar", unit="mL", default="6",
          read=measured(MILLILITRES, least=1e-8, most=0.1, unit="mL", example="6 mL"),
          becomes=("volume",)),
    Field(key="wanted", label="Wanted: parts of alcohol to 1 part of dyes",
          unit="or 1:4, or dye in %", default="4", read=thinning(1e5)),
    Field(key="mouth", label="Mouth of the jar", unit="mm across", default="40",
          read=measured(METRES, least=0.0, most=1.0, example="40 or 1 1/2 in"),
          becomes=("open area",)),
    Field(key="open", label="It stood open for", unit="min", default="60",
          read=measured(MINUTES, least=0.0, most=6e7, unit="min", example="60 or 1 h"),
          becomes=("time",)),
)  # fmt: skip
FIELDS = fields_by_key([*DROP, *JAR])
DEFAULTS = default_form(FIELDS)


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
    reader = FormReader(form, FIELDS)
    drops, mass = reader.values(("counted", "weighed")).values()
    # how many drops are refused is for the counting to say, not a rounding
    return reader.built("counted", lambda: drop_volume_by_weight(drops, mass))


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
    keys = ("left", "wanted", "mouth", "open")
    left, thinned, mouth, time = FormReader(form, FIELDS).values(keys).values()
    wanted = volume_share(1.0, thinned.parts_for(1.0))
    return JarAdvice(
        share_now=now,
        share_wanted=wanted,
        dye=top_up(left, now, wanted) if wanted > now else 0.0,
        alcohol=thin_down(left, now, wanted) if wanted < now else 0.0,
        stood=evaporation(left, now, math.pi / 4 * mouth**2, time),
    )
