"""A bottle of dye as a maker types it: texts in, a bottle out, and back."""

from __future__ import annotations

from collections.abc import Mapping

from data.page.form import (
    Field,
    FormReader,
    default_form,
    fields_by_key,
    one_of,
    whole_number,
)
from data.rules import check_kind
from tinting.forms.spellings import amount, thinning
from tinting.forms.tint import KINDS, colour
from tinting.log.bottles import PAPER, Blot, Bottle
from tinting.mix.batch import volume_share
from tinting.skin.uptake import MOST_COATS

BY_BLOT, BY_SWATCHES = "one blot of it", "swatches in the log"
GROUNDS = {"white paper": PAPER, **{f"a part, {words}": kind for words, kind in KINDS.items()}}
PAPER_COLOUR = "95 0 -2"
"""A usual white office paper, where it was not measured."""
_AMOUNT = amount(1e9)
FIELDS = fields_by_key(
    [
        Field(key="name", label="Name of the dye", becomes=("bottle name",)),
        Field(key="lot", label="Lot or batch on the bottle", becomes=("bottle lot",)),
        Field(key="note", label="Note on its strength", becomes=("bottle note",)),
        Field(key="known", label="Known by", default=BY_BLOT, read=one_of((BY_BLOT, BY_SWATCHES))),
        Field(key="ground", label="The blot lies on", default="white paper",
              read=one_of(GROUNDS), becomes=("blot ground", "part of the blot")),
        Field(key="blot", label="Colour of the dry blot", unit="#rrggbb, or L a b under D65",
              read=colour, becomes=("blot colour", "blot lab", "swatch lab")),
        Field(key="bare", label="Colour of what it lies on, bare", default=PAPER_COLOUR,
              unit="#rrggbb, or L a b under D65", read=colour,
              becomes=("bare colour", "bare lab", "paper", "base lab")),
        Field(key="parts", label="Parts of dye in the blot", default="1", read=_AMOUNT,
              becomes=("parts of dye", "volume share", "blot share")),
        Field(key="alcohol", label="Parts of alcohol in the blot", unit="or 1:9, or dye in %",
              default="0", read=thinning(1e9),
              becomes=("parts of alcohol",)),
        Field(key="coats", label="Coats of the blot", default="1",
              read=whole_number(least=1, most=MOST_COATS), becomes=("blot coats",)),
    ]
)  # fmt: skip
DEFAULTS = default_form(FIELDS)


def bottle_from_form(form: Mapping[str, str], owned: bool = True) -> Bottle:
    """Return the bottle that a form describes.

    Parameters
    ----------
    form : mapping
        Field key to text; keys that are missing take the default.
    owned : bool
        Whether it is owned now.

    Raises
    ------
    RefusedFieldsError
        With every field that cannot be read, and for a blot that no dye gives.
    """
    check_kind("owned", owned, bool, "true or false")
    reader = FormReader(form, FIELDS)
    known = reader.value("known")
    blot = _blot(reader) if known == BY_BLOT else None
    bottle = reader.built(
        "name",
        lambda: Bottle(
            name=reader.form["name"].strip(),
            lot=reader.form["lot"].strip(),
            note=reader.form["note"].strip(),
            owned=owned,
            blot=blot,
        ),
    )
    reader.built("blot", lambda: bottle.dye)
    return bottle


def form_from_bottle(bottle: Bottle) -> dict[str, str]:
    """Return the form that would ask for a bottle, numbers rounded to be read."""
    check_kind("bottle", bottle, Bottle, "a Bottle")
    form = {**DEFAULTS, "name": bottle.name, "lot": bottle.lot, "note": bottle.note}
    blot = bottle.blot
    if blot is None:
        return {**form, "known": BY_SWATCHES}
    return {
        **form,
        "ground": next(words for words, ground in GROUNDS.items() if ground == blot.ground),
        "blot": " ".join(f"{value:.6g}" for value in blot.lab),
        "bare": " ".join(f"{value:.6g}" for value in blot.bare_lab),
        "alcohol": f"{1 / blot.share - 1:.6g}",
        "coats": str(blot.coats),
    }


def _blot(reader: FormReader) -> Blot | None:
    value = {key: reader.value(key) for key in ("blot", "bare", "coats", "parts", "alcohol")}
    ground = reader.value("ground")
    if reader.errors:
        return None
    alcohol = value["alcohol"].parts_for(value["parts"])
    share = reader.build("parts", lambda: volume_share(value["parts"], alcohol))
    if reader.errors:
        return None
    return reader.build(
        "blot",
        lambda: Blot(
            lab=tuple(value["blot"]),
            bare_lab=tuple(value["bare"]),
            ground=GROUNDS[ground],
            share=share,
            coats=value["coats"],
        ),
    )
