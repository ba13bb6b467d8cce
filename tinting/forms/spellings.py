"""Amounts and colours as they are usually written: ratios, per cent, millilitres, drops, hex."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from data.page.form import Reader, reads, typed_number
from data.page.measures import MILLILITRES
from data.rules import check_kind, refuse

AMOUNT_UNITS = ("part", "parts", "drop", "drops", *(unit for unit in MILLILITRES if unit))
_AMOUNT = re.compile(r"(?P<number>[-−+]?[0-9]*[.,]?[0-9]+)\s*(?P<unit>[a-zµ³ ]*3?)")
_RATIO = re.compile(
    r"(?P<dye>[0-9]*[.,]?[0-9]+)\s*(?::|/|\bto\b|\bin\b)\s*(?P<rest>[0-9]*[.,]?[0-9]+)"
)


@dataclass(frozen=True, kw_only=True)
class Thinning:
    """How a mix is thinned: by ``parts`` of alcohol, or to a ``share`` of dyes in all of it."""

    parts: float | None = None
    share: float | None = None

    def parts_for(self, dyes: float) -> float:
        """Return the parts of alcohol for so many parts of all dyes together."""
        if self.share is None:
            return self.parts or 0.0
        return dyes * (1 / self.share - 1)


def amount(most: float) -> Reader[float]:
    """Return what reads parts: a number, or one with mL, drops or parts behind it.

    The units of one mix are alike, so that they stand as parts; a litre is 1000 of them.
    """

    def read(text: str, name: str) -> float:
        check_kind(name, text, str, "a text")
        found = _AMOUNT.fullmatch(" ".join(text.strip().lower().replace("μ", "µ").split()))
        unit = found["unit"].strip() if found else ""
        if found is None or (unit and unit not in AMOUNT_UNITS):
            raise refuse(name, "a number of parts, drops or mL", text)
        times = MILLILITRES[unit] / MILLILITRES["ml"] if unit in MILLILITRES and unit else 1.0
        return typed_number(found["number"], name, least=0.0, most=most) * times

    return Reader(read=read, example="9, 9 mL or 9 drops", times=1.0,
                  rule="a number of parts, drops or mL")  # fmt: skip


def thinning(most: float) -> Reader[Thinning]:
    """Return what reads how a mix is thinned: parts of alcohol, dyes : alcohol, or dyes in %.

    "9" and "9 mL" are parts of alcohol, "1:9", "1/9" and "1 to 9" dyes to alcohol, "1 in 10" and
    "10 %" the share of dyes in all of the mix.
    """
    parts = amount(most)

    def read(text: str, name: str) -> Thinning:
        check_kind(name, text, str, "a text")
        bare = text.strip().lower()
        if bare.endswith(("%", "percent", "per cent")):
            number = re.sub(r"%|per ?cent", "", bare)
            return _share(typed_number(number, name, least=0.0, most=100.0) / 100, name, text)
        found = _RATIO.fullmatch(bare)
        if found is None:
            return Thinning(parts=parts(text, name))
        dye, rest = typed_number(found["dye"], name), typed_number(found["rest"], name)
        whole = rest if re.search(r"\bin\b", bare) else dye + rest
        if not whole:
            raise refuse(name, "a ratio of something", text)
        return _share(dye / whole, name, text)

    return Reader(read=read, example="9, 1:9 or 10 %", rule=parts.rule)


def _share(share: float, name: str, text: str) -> Thinning:
    if not 0 < share <= 1:
        raise refuse(name, "with some dye in it, and no more dye than mix", text)
    return Thinning(share=share)


def thinning_words(typed: str, dyes: Iterable[str]) -> str:
    """Say how a mix is thinned in every usual way, "1 part of dye + 9 of alcohol = 1:9 = 10 %".

    ``typed`` is its field, ``dyes`` are the fields of the parts of its dyes; "" while one of them
    cannot be read or there is no dye.
    """
    try:
        parts = sum(amount(1e9)(each, "parts") for each in dyes)
        alcohol = thinning(1e9)(typed, "alcohol").parts_for(parts)
    except ValueError:
        return ""
    if parts <= 0:
        return ""
    first = f"{parts:.3g} part{'' if parts == 1 else 's'} of dye + {alcohol:.3g} of alcohol"
    return f"{first} = 1:{alcohol / parts:.3g} = {100 * parts / (parts + alcohol):.3g} % dye"


@reads(example="#9aa86b")
def screen_colour(text: str, name: str) -> str:
    """Return "#rrggbb" of a screen colour in hex or as rgb(…), the usual spellings.

    "#9AB", "9aa86b", "0x9aa86b" and "rgb(154, 168, 107)" are read too.
    """
    bare = text.strip().lower().removeprefix("#").removeprefix("0x")
    found = re.fullmatch(r"rgb ?\(? ?([0-9]+)[ ,;]+([0-9]+)[ ,;]+([0-9]+) ?\)?", bare)
    if found and all(int(each) <= 255 for each in found.groups()):
        return "#" + "".join(f"{int(each):02x}" for each in found.groups())
    if re.fullmatch(r"[0-9a-f]{3}", bare):
        return "#" + "".join(2 * sign for sign in bare)
    if re.fullmatch(r"[0-9a-f]{6}", bare):
        return f"#{bare}"
    raise refuse(name, "six hexadecimal digits like #7a9b3c", text)


def is_screen_colour(text: str) -> bool:
    """Tell whether a text is meant as a screen colour rather than as L a b."""
    bare = text.strip().lower()
    return bare.startswith(("#", "0x", "rgb")) or (
        re.fullmatch(r"[0-9a-f]{6}|[0-9a-f]{3}", bare) is not None
        and not re.fullmatch(r"[0-9]{1,3}", bare)
    )
