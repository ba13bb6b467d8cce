"""A form as a table of its fields, and the reader that lays every refusal on its field.

A form is a plain mapping of field key to text, so that a page, a link and an undo step all hold
the same thing.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeAlias, TypeVar

from data.rules import Refused, check_choice, check_kind, check_number, check_whole, refuse

T = TypeVar("T")
Read: TypeAlias = Callable[[str, str], Any]
"""Makes the value of a typed text; it gets the text and the name to refuse it by."""


def as_text(text: str, name: str) -> str:
    """Return a text as it was typed."""
    check_kind(name, text, str, "a text")
    return text


@dataclass(frozen=True, kw_only=True)
class Field:
    """One field of a form.

    ``key`` names it in a form; ``label``, with ``unit`` in brackets, stands above it; ``default``
    is the text that it starts with. ``read`` makes its value. ``becomes`` are the names of the
    inputs that are made of it: what they refuse is said at this field. The fields of one row of a
    repeated group (a bend, a dye) have its number in ``row``, others 0.
    """

    key: str
    label: str
    unit: str = ""
    default: str = ""
    read: Read = as_text
    becomes: tuple[str, ...] = ()
    row: int = 0

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
    name = error.name if isinstance(error, Refused) else ""
    return RefusedFieldsError({field_of(fields, name, otherwise): str(error)})


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
            self._note(key, refused)
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
            self._note(field_of(self.fields, refused.name, key), refused)
            return None  # type: ignore[return-value]

    def _note(self, key: str, refused: Refused) -> None:
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
        number = float(text.strip().replace(",", "."))
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
) -> Read:
    """Return what reads a number within bounds [as typed] and returns it times ``times`` / ``per``.

    ``sign`` may stand behind it, such as "%".
    """

    def read(text: str, name: str) -> float:
        bare = text.strip().removesuffix(sign)
        return typed_number(bare, name, least=least, most=most) * times / per

    return read


def measured(units: Mapping[str, float], *, least: float, most: float) -> Read:
    """Return what reads a number with or without one of some units, "2 oz" or "1/2 oz".

    ``units`` gives what one of each is in the unit of the value, the bare number's under "";
    ``least`` and ``most`` are inclusive bounds in that unit. A decimal comma is read too.
    """

    def read(text: str, name: str) -> float:
        check_kind(name, text, str, "a text")
        found = _MEASURED.fullmatch(text.strip().lower())
        if found is None or found["unit"] not in units:
            known = ", ".join(unit for unit in units if unit)
            raise refuse(name, f"a number, alone or with one of {known}", text)
        value = typed_number(found["number"], name)
        if found["parts"]:
            value /= typed_number(found["parts"], name, least=1.0)
        return check_number(name, value * units[found["unit"]], least=least, most=most)

    return read


_MEASURED = re.compile(
    r"(?P<number>[-−+]?[0-9]*[.,]?[0-9]+)(?:\s*/\s*(?P<parts>[0-9]+))?\s*(?P<unit>[a-z°]*)"
)


def whole_number(*, least: int, most: int) -> Read:
    """Return what reads a whole number within bounds."""
    return lambda text, name: check_whole(name, typed_number(text, name), least=least, most=most)


def one_of(choices: Iterable[str]) -> Read:
    """Return what reads one of some words."""
    known = tuple(choices)
    return lambda text, name: check_choice(name, text, known)


def several(read: Read, most: int) -> Read:
    """Return what reads a list, at most ``most`` long, of texts with semicolons between."""

    def read_all(text: str, name: str) -> list[Any]:
        parts = [part for part in text.split(";") if part.strip()]
        if len(parts) > most:
            raise refuse(name, f"at most {most} at a time", len(parts))
        return [read(part, name) for part in parts]

    return read_all
