"""A form as a table of its fields, and the reader that lays every refusal on its field.

A form is a plain mapping of field key to text, so that a page, a link and an undo step all hold
the same thing.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeAlias, TypeVar

from data.inches import in_small_units
from data.rules import (
    Bounds,
    Refused,
    check_choice,
    check_kind,
    check_number,
    check_whole,
    refuse,
    shown,
)

T = TypeVar("T")
Read: TypeAlias = Callable[[str, str], Any]
"""Makes the value of a typed text; it gets the text and the name to refuse it by."""


def as_text(text: str, name: str) -> str:
    """Return a text as it was typed."""
    check_kind(name, text, str, "a text")
    return text


@dataclass(frozen=True, kw_only=True, eq=False)
class Reader(Generic[T]):
    """Reads a typed text by ``read``, and knows how it can be written and how its value is said.

    A value times ``times`` is in ``unit``, as a bare number is typed; without ``times`` it is not
    said. ``example`` shows how to write one; ``rule`` is the refusal that says no more than that.
    """

    read: Callable[[str, str], T]
    example: str = ""
    times: float | None = None
    unit: str = ""
    rule: str = "a number"

    def __call__(self, text: str, name: str = "value") -> T:
        """Return the value of a text; Refused, by ``name``, for one that cannot be read."""
        return self.read(text, name)

    def said(self, value: float) -> str:
        """Return a value as it is said in the unit of the field."""
        space = "" if self.unit in ("°", "") else " "
        number = f"{value * (self.times or 1.0):.4g}"
        whole = f"{float(number):.0f}" if "e+" in number else number
        return f"{whole}{space}{self.unit}"


def reads(
    *, example: str = "", times: float | None = None, unit: str = "", rule: str = "a number"
) -> Callable[[Callable[[str, str], T]], Reader[T]]:
    """Return what makes a `Reader` of a function that reads, to stand above it."""
    return lambda read: Reader(read=read, example=example, times=times, unit=unit, rule=rule)


@dataclass(frozen=True, kw_only=True)
class Field:
    """One field of a form.

    ``key`` names it in a form; ``label``, with ``unit`` in brackets, stands above it; ``default``
    is the text that it starts with. ``read`` makes its value. ``becomes`` are the names of the
    inputs that are made of it: what they refuse is said at this field. The fields of one row of a
    repeated group (a bend, a dye) have its number in ``row``, others 0. ``example`` shows how to
    write it where that of its reader does not fit.
    """

    key: str
    label: str
    unit: str = ""
    default: str = ""
    read: Read = as_text
    becomes: tuple[str, ...] = ()
    row: int = 0
    example: str = ""

    @property
    def shown_example(self) -> str:
        """How it can be written."""
        of_reader = self.read.example if isinstance(self.read, Reader) else ""
        return self.example or of_reader or self.default or "a number"

    @property
    def heading(self) -> str:
        """What stands above the field."""
        return f"{self.label} ({self.unit})" if self.unit else self.label


Fields: TypeAlias = Mapping[str, Field]


def fields_by_key(rows: Iterable[Field], defaults: Mapping[str, str] | None = None) -> Fields:
    """Return the fields of a form by key; ``defaults``, of every field, take the place of theirs.

    Raises
    ------
    ValueError
        For a key that stands twice.
    KeyError
        For a field without its default.
    """
    fields: dict[str, Field] = {}
    for row in rows:
        if row.key in fields:
            raise refuse("field key", "given once", row.key)
        fields[row.key] = row if defaults is None else replace(row, default=defaults[row.key])
    return fields


def default_form(fields: Fields) -> dict[str, str]:
    """Return the form that the fields start with."""
    return {key: field.default for key, field in fields.items()}


class RefusedFieldsError(Exception):
    """One or more fields cannot be used; ``errors`` maps field key to the sentence.

    ``refused`` holds the refusal itself of those fields that have one, ``unread`` those fields
    whose text could not be read, ``missing`` those that are not filled in yet.
    """

    def __init__(
        self,
        errors: Mapping[str, str],
        refused: Mapping[str, Refused] | None = None,
        unread: Iterable[str] = (),
        missing: Iterable[str] = (),
    ) -> None:
        super().__init__("; ".join(errors.values()))
        self.errors = dict(errors)
        self.refused = dict(refused or {})
        self.unread = frozenset(unread)
        self.missing = frozenset(missing)


def checked_form(form: object) -> Mapping[str, str]:
    """Return a form if it maps field keys to texts; ValueError otherwise."""
    rule = "a mapping of field to text"
    if not isinstance(form, Mapping):
        raise refuse("form", rule, type(form).__name__)
    for key, text in form.items():
        if not isinstance(key, str) or not isinstance(text, str):
            raise refuse("form", rule, {key: text})
    return form


def field_of(fields: Fields, name: str, otherwise: str) -> str:
    """Return the key of the field that an input called ``name`` is made of.

    Of several rows of a group it is that of the field ``otherwise``, which is also the answer
    where no field becomes that input.
    """
    made = [field for field in fields.values() if name in field.becomes]
    row = fields[otherwise].row if otherwise in fields else 0
    same = [field for field in made if field.row == row]
    return (same or made)[0].key if made else otherwise


def refused_at(fields: Fields, error: ValueError, otherwise: str) -> RefusedFieldsError:
    """Return a refusal laid on the field that its input is made of, else on ``otherwise``."""
    if not isinstance(error, Refused):
        return RefusedFieldsError({otherwise: str(error)})
    key = field_of(fields, error.name, otherwise)
    return RefusedFieldsError({key: str(error)}, {key: error})


def worded(
    fields: Fields, form: Mapping[str, str], refused: RefusedFieldsError
) -> RefusedFieldsError:
    """Return refusals in the words and the units of their fields, each with an example or bounds.

    One whose refusal itself is not known is said as it stands.
    """
    errors = {
        key: _words(fields[key], form.get(key, ""), refused.refused[key], key in refused.unread)
        if key in fields and key in refused.refused
        else in_small_units(sentence)
        for key, sentence in refused.errors.items()
    }
    return RefusedFieldsError(errors)


def _words(field: Field, typed: str, refused: Refused, unread: bool) -> str:
    got, read = shown(typed.strip()[:60]), field.read
    own = unread or refused.name in field.becomes
    if own and refused.bounds is not None and isinstance(read, Reader) and read.times is not None:
        return f"{field.label}: {_between(read, refused.bounds)}; got {got}."
    if unread:
        known = read.rule if isinstance(read, Reader) else "a number"
        rule = "" if refused.rule in (known, "a number") else f" ({in_small_units(refused.rule)})"
        return f"{field.label}: write {field.shown_example}{rule}; got “{got}”."
    what = "" if own or not field.becomes else f"{refused.name} "
    told = in_small_units(f"{refused.rule}; got {refused.got}")
    return f"{field.label}: {what}{told}."


def _between(read: Reader[Any], bounds: Bounds) -> str:
    ends = [
        f"{word} {read.said(end)}"
        for word, end in (("from", bounds.low), ("to", bounds.high))
        if end is not None
    ]
    return " ".join(ends) if ends else "a number"


class FormReader:
    """Reads the fields of a form and collects what each refuses.

    ``form`` maps field key to text; fields that are missing have their default.
    """

    def __init__(self, form: object, fields: Fields) -> None:
        self.form = {**default_form(fields), **checked_form(form)}
        self.fields = fields
        self.errors: dict[str, str] = {}
        self.refused: dict[str, Refused] = {}
        self.unread: set[str] = set()

    def value(self, key: str) -> Any:
        """Return the value of a field; None after noting what it refuses.

        The None is never used: `stop_at_errors` comes before anything is made of it.
        """
        field = self.fields[key]
        name = field.becomes[0] if field.becomes else field.label.lower()
        try:
            return field.read(self.form[key], name)
        except Refused as refused:
            self.unread.add(key)
            self.note(key, refused)
            return None

    def values(self, keys: Iterable[str]) -> dict[str, Any]:
        """Return the values of fields by key; RefusedFieldsError with every one refused."""
        found = {key: self.value(key) for key in keys}
        self.stop_at_errors()
        return found

    def build(self, key: str, make: Callable[[], T]) -> T:
        """Return what ``make`` makes; None after noting a refusal at the field it is made of.

        ``key`` is the field to blame where no other is. The None is as that of `value`.
        """
        try:
            return make()
        except Refused as refused:
            self.note(field_of(self.fields, refused.name, key), refused)
            return None  # type: ignore[return-value]

    def note(self, key: str, refused: Refused) -> None:
        """Note what a field refuses, the first of it."""
        self.errors.setdefault(key, str(refused))
        self.refused.setdefault(key, refused)

    def built(self, key: str, make: Callable[[], T]) -> T:
        """Return what ``make`` makes; RefusedFieldsError with all that was refused so far."""
        made = self.build(key, make)
        self.stop_at_errors()
        return made

    def stop_at_errors(self) -> None:
        """Raise RefusedFieldsError if any field was refused."""
        if self.errors:
            raise RefusedFieldsError(self.errors, self.refused, self.unread)


def typed_number(
    text: str, name: str, *, least: float | None = None, most: float | None = None
) -> float:
    """Return a number typed with a decimal point or comma, within inclusive bounds."""
    check_kind(name, text, str, "a text")
    try:
        number = float(text.strip().replace(",", ".").replace("−", "-"))
    except ValueError:
        raise refuse(name, "a number", text) from None
    return check_number(name, number, least=least, most=most)


def number(
    *,
    least: float | None = None,
    most: float | None = None,
    times: float = 1.0,
    per: float = 1.0,
    sign: str = "",
    example: str = "",
) -> Reader[float]:
    """Return what reads a number within bounds [as typed] and returns it times ``times`` / ``per``.

    ``sign`` may stand behind it, such as "%".
    """

    def read(text: str, name: str) -> float:
        bare = text.strip().removesuffix(sign)
        try:
            return typed_number(bare, name, least=least, most=most) * times / per
        except Refused as refused:
            refused.bounds = _scaled(refused.bounds, times / per)
            raise

    return Reader(read=read, times=per / times, unit=sign, example=example)


def _scaled(bounds: Bounds | None, times: float) -> Bounds | None:
    """Return bounds of what is typed as those of the value."""
    if bounds is None:
        return None
    low, high = (None if end is None else end * times for end in (bounds.low, bounds.high))
    return Bounds(low=low, high=high)


def measured(
    units: Mapping[str, float], *, least: float, most: float, unit: str = "", example: str = ""
) -> Reader[float]:
    """Return what reads a number with or without one of some units, "2 oz" or "1 1/2 oz".

    ``units`` gives what one of each is in the unit of the value, the bare number's under "";
    ``least`` and ``most`` are inclusive bounds in that unit. A decimal comma is read too. ``unit``
    is what a bare number is said in.
    """

    def read(text: str, name: str) -> float:
        check_kind(name, text, str, "a text")
        found = _MEASURED.fullmatch(_plain(text))
        if found is None or found["unit"] not in units:
            raise refuse(name, rule, text)
        value = typed_number(found["number"], name)
        if found["parts"]:
            value /= typed_number(found["parts"], name, least=1.0)
        value += float(found["whole"] or 0)
        return check_number(name, value * units[found["unit"]], least=least, most=most)

    rule = f"a number, alone or with one of {', '.join(each for each in units if each)}"
    said = unit or next((each for each in units if each), "")
    return Reader(read=read, times=1 / units[""], unit=said, example=example, rule=rule)


def _plain(text: str) -> str:
    """Return a text in lower case, with one kind of micro sign, quote and space."""
    plain = text.strip().lower().replace("μ", "µ").replace("″", '"').replace("''", '"')
    return " ".join(plain.split())


_MEASURED = re.compile(
    r"(?:(?P<whole>[0-9]+)[ -](?=[0-9]+ ?/))?(?P<number>[-−+]?[0-9]*[.,]?[0-9]+)"
    r"(?: ?/ ?(?P<parts>[0-9]+))? ?(?P<unit>[a-zµ°%²³/\". ]*[23]?)"
)


def whole_number(*, least: int, most: int) -> Reader[int]:
    """Return what reads a whole number within bounds."""

    def read(text: str, name: str) -> int:
        return check_whole(name, typed_number(text, name), least=least, most=most)

    return Reader(read=read, times=1.0)


def one_of(choices: Iterable[str]) -> Read:
    """Return what reads one of some words."""
    known = tuple(choices)
    return lambda text, name: check_choice(name, text, known)


def several(read: Read, most: int) -> Reader[list[Any]]:
    """Return what reads a list, at most ``most`` long, of texts with semicolons between."""

    def read_all(text: str, name: str) -> list[Any]:
        parts = [part for part in text.split(";") if part.strip()]
        if len(parts) > most:
            raise refuse(name, f"at most {most} at a time", len(parts))
        return [read(part, name) for part in parts]

    if not isinstance(read, Reader):
        return Reader(read=read_all)
    return Reader(
        read=read_all, example=read.example, times=read.times, unit=read.unit, rule=read.rule
    )
