"""Read a typed form field by field, and lay every refusal on the field that caused it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

from data.rules import refuse

T = TypeVar("T")


class RefusedFieldsError(Exception):
    """One or more fields cannot be used; ``errors`` maps field key to the sentence."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__("; ".join(errors.values()))
        self.errors = dict(errors)


def checked_form(form: object) -> Mapping[str, str]:
    """Return a form if it maps field keys to texts; ValueError otherwise."""
    rule = "a mapping of field to text"
    if not isinstance(form, Mapping):
        raise refuse("form", rule, type(form).__name__)
    for key, text in form.items():
        if not isinstance(key, str) or not isinstance(text, str):
            raise refuse("form", rule, {key: text})
    return form


def whole_form(form: object, defaults: Mapping[str, str]) -> dict[str, str]:
    """Return a checked form over its defaults."""
    return {**defaults, **checked_form(form)}


class FormReader:
    """Read fields one by one and collect what each refuses.

    ``form`` maps field key to text. ``blame`` maps the name a refusal begins with to the field
    that caused it; a field key that ends in a digit is one of several rows, and the blame stays
    in its row.
    """

    def __init__(self, form: Mapping[str, str], blame: Mapping[str, str]) -> None:
        self.form = form
        self.blame = blame
        self.errors: dict[str, str] = {}

    def get(self, key: str, read: Callable[[str], T]) -> T:
        """Return what ``read`` makes of a field's text; None after noting what it refuses."""
        return self.build(key, lambda: read(self.form[key]))

    def build(self, key: str, make: Callable[[], T]) -> T:
        """Return what ``make`` makes; None after noting a refusal against the field it names.

        The None is never used: `stop_at_errors` comes before anything is built on it.
        """
        try:
            return make()
        except ValueError as error:
            name = str(error).split(" must be ")[0]
            self.errors.setdefault(self._blamed(key, name), str(error))
            return None  # type: ignore[return-value]

    def stop_at_errors(self) -> None:
        """Raise RefusedFieldsError if any field was refused."""
        if self.errors:
            raise RefusedFieldsError(self.errors)

    def _blamed(self, key: str, name: str) -> str:
        blamed = self.blame.get(name, key)
        if key[-1].isdigit() and blamed[-1].isdigit():
            return blamed[:-1] + key[-1]
        return blamed
