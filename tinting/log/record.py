"""One row of the swatch log: what was dyed with what, how, and which colour came out.

A row holds everything that a later fit or a later reader may ask for: the base and what stood
behind it, the mix, the coats, the alcohol, how long it dried, and light, observer and geometry of
the reading, since readings of different kinds must not be mixed.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any, TypeAlias

import numpy as np

from data.rules import check_choice, check_kind, check_number, check_text, check_whole, refuse
from tinting.colour.colorimetry import OBSERVERS, light_names
from tinting.colour.grid import check_lab
from tinting.photo.reading import READING_ERROR as PHOTO_ERROR
from tinting.skin.inputs import BACKINGS, SCATTERING_THICKNESS, Swatch

Triple: TypeAlias = tuple[float, float, float]
READING_ERROR = {"instrument": 0.4, **PHOTO_ERROR, "photo": 2.0, "eye": 4.0}
"""What a way of measuring is worth [dE]: an instrument, a photo with a chart or with a card in it,
a photo of which no more is known, a look at a fan."""
GEOMETRIES = ("45/0", "d/8 gloss included", "d/8 gloss excluded", "photo", "eye", "unknown")
MOST_DYES, LONGEST_NAME, LONGEST_NOTE = 20, 80, 4000
_GLOSS = {"45/0": 0.0, "d/8 gloss excluded": 0.0, "d/8 gloss included": 0.04}
_USUAL_GLOSS = 0.0175
"""Surface reflection in a reading by a photo, by eye or by an unknown device."""
LONGEST_DRYING = 3.2e8
"""Ten years. [s]"""


def folded(name: str) -> str:
    """Return a name as it is compared: "Pond  Blue" and "pond blue" are one."""
    return " ".join(name.split()).casefold()


def new_id() -> str:
    """Return a new id for a row."""
    return str(uuid.uuid4())


def time_now() -> datetime:
    """Return the present time with its zone."""
    return datetime.now(UTC)


@dataclass(frozen=True, kw_only=True)
class SwatchRecord:
    """One dyed and measured patch as it stands in the log.

    ``base_lab`` and ``lab`` are CIELAB of the undyed and the dyed part, both under ``light`` for
    the ``observer`` (2 or 10 degree) in ``geometry``. ``shares`` maps dye name to its volume share
    of the mix (empty with 0 coats: the bare base). ``thickness`` of the printed wall [m],
    ``backing`` what stood behind it. ``alcohol_grade`` is the share of alcohol in the thinner,
    ``drying_time`` runs from the last coat to the reading [s]. ``method`` says how it was measured
    (instrument, chart, card, photo, eye) and with that how far it can be trusted. ``photo`` names
    a picture beside the log, empty for none. ``used`` says whether a fit may use the row.
    """

    base_name: str
    base_lab: Triple
    lab: Triple
    shares: Mapping[str, float]
    coats: int
    base_kind: str = "unknown"
    thickness: float = 0.002
    backing: str = "as in use"
    alcohol_grade: float = 0.99
    drying_time: float = 1800.0
    light: str = "D65"
    observer: int = 10
    geometry: str = "unknown"
    method: str = "photo"
    note: str = ""
    photo: str = ""
    used: bool = True
    id: str = field(default_factory=new_id)
    made_at: datetime = field(default_factory=time_now)

    def __post_init__(self) -> None:
        keep = object.__setattr__
        check_text("base name", self.base_name, LONGEST_NAME)
        for name, key in (("base lab", "base_lab"), ("swatch lab", "lab")):
            keep(self, key, tuple(float(v) for v in check_lab(name, getattr(self, key))))
        keep(self, "shares", _checked_shares(self.shares))
        keep(self, "coats", check_whole("swatch coats", self.coats, least=0, most=50))
        check_choice("base kind", self.base_kind, tuple(SCATTERING_THICKNESS))
        for name, key, least, most, unit in (
            ("base thickness", "thickness", 1e-5, 1.0, "m"),
            ("alcohol grade", "alcohol_grade", 0.0, 1.0, ""),
            ("drying time", "drying_time", 0.0, LONGEST_DRYING, "s"),
        ):
            value = check_number(name, getattr(self, key), least=least, most=most, unit=unit)
            keep(self, key, value)
        check_choice("base backing", self.backing, BACKINGS)
        check_choice("swatch light", self.light, light_names())
        observer = check_number("swatch observer", self.observer)
        if observer not in OBSERVERS:
            raise refuse("swatch observer", "2 or 10 degree", self.observer)
        keep(self, "observer", int(observer))
        check_choice("swatch geometry", self.geometry, GEOMETRIES)
        check_choice("swatch method", self.method, tuple(READING_ERROR))
        check_text("swatch note", self.note, LONGEST_NOTE, empty=True, lines=True)
        check_photo_name(self.photo)
        check_kind("swatch used", self.used, bool, "true or false")
        _check_id(self.id)
        keep(self, "made_at", _checked_time(self.made_at))

    @property
    def error(self) -> float:
        """What the way of measuring is worth. [dE]"""
        return READING_ERROR[self.method]


def gloss_of(geometry: str) -> float:
    """Return the share of the surface reflection that readings of a geometry hold."""
    return _GLOSS.get(check_choice("swatch geometry", geometry, GEOMETRIES), _USUAL_GLOSS)


def swatch_of_record(record: SwatchRecord) -> Swatch:
    """Return the Swatch that a fit takes; ValueError if it was read under another light.

    A reading under another light or for the other observer cannot be turned into one under D65
    for 10 degree without its spectrum, so it is refused and never mixed in.
    """
    check_kind("record", record, SwatchRecord, "a SwatchRecord")
    if (record.light, record.observer) != ("D65", 10):
        rule = "read under D65 for 10 degree to be fitted"
        raise refuse("swatch lab", rule, f"{record.light} for {record.observer} degree")
    return Swatch(
        shares=record.shares, coats=record.coats, lab=np.array(record.lab), error=record.error
    )


def checked_records(records: Iterable[SwatchRecord]) -> tuple[SwatchRecord, ...]:
    """Return rows of the log as a tuple; ValueError for anything but rows."""
    try:
        each = iter(records)
    except TypeError:
        raise refuse("records", "rows of the log", type(records).__name__) from None
    rows = []
    for record in each:
        check_kind("record", record, SwatchRecord, "a SwatchRecord")
        rows.append(record)
    return tuple(rows)


def record_fields(record: SwatchRecord) -> dict[str, Any]:
    """Return the row as plain values that JSON can hold; `record_from_fields` is the way back."""
    check_kind("record", record, SwatchRecord, "a SwatchRecord")
    plain = {item.name: getattr(record, item.name) for item in fields(SwatchRecord)}
    plain["shares"] = dict(record.shares)
    plain["base_lab"], plain["lab"] = list(record.base_lab), list(record.lab)
    plain["made_at"] = record.made_at.isoformat()
    return plain


def record_from_fields(plain: Mapping[str, Any]) -> SwatchRecord:
    """Return the row of plain values; ValueError for a missing, unknown or impossible one."""
    if not isinstance(plain, Mapping):
        raise refuse("swatch fields", "a mapping", type(plain).__name__)
    known = {item.name for item in fields(SwatchRecord)}
    if set(plain) != known:
        odd = sorted(map(str, set(plain) ^ known))
        raise refuse("swatch fields", "the known ones, each given", ", ".join(odd))
    made_at = plain["made_at"]
    if isinstance(made_at, str):
        try:
            made_at = datetime.fromisoformat(made_at)
        except ValueError:
            raise refuse("made at", "a time like 2025-05-31T14:05:00+00:00", made_at) from None
    return SwatchRecord(**{**plain, "made_at": made_at})


def check_photo_name(value: object) -> None:
    """Raise the ValueError for anything but a bare file name or empty: it is joined to a path."""
    plain = isinstance(value, str) and all(c.isascii() and (c.isalnum() or c == ".") for c in value)
    if not isinstance(value, str) or not plain or len(value) > 100 or value.startswith("."):
        raise refuse("swatch photo", "the name of a picture beside the log, or empty", value)


def _checked_shares(shares: object) -> Mapping[str, float]:
    if not isinstance(shares, Mapping):
        raise refuse("swatch shares", "a mapping dye name to share", type(shares).__name__)
    if len(shares) > MOST_DYES:
        raise refuse("swatch shares", f"at most {MOST_DYES} dyes", len(shares))
    checked = {
        check_text("dye name", name, LONGEST_NAME): check_number(
            f"swatch share of {name}", share, least=0.0, most=1.0
        )
        for name, share in shares.items()
    }
    total = sum(checked.values())
    if total > 1 + 1e-9:
        raise refuse("swatch shares", "at most 1 together", total)
    return MappingProxyType(checked)


def _checked_time(value: object) -> datetime:
    rule = "a time with its zone, from 1970 to 2200"
    if not isinstance(value, datetime):
        raise refuse("made at", rule, type(value).__name__)
    if value.utcoffset() is None or not 1900 < value.year < 2300:
        raise refuse("made at", rule, value)
    time = value.astimezone(UTC)
    if not 1970 <= time.year < 2200:
        raise refuse("made at", rule, value)
    return time


def _check_id(value: object) -> None:
    try:
        known = isinstance(value, str) and str(uuid.UUID(value)) == value
    except ValueError:
        known = False
    if not known:
        raise refuse("swatch id", "a UUID in lower case", value)
