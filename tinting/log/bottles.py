"""The maker's bottles of dye, kept in the user folder: what is owned, its lot, how it is known.

A bottle is known by a blot of it, by the swatches of the log that name it, or not at all: then a
dye of the demo of the same name, which is invented, stands in for it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Any, TypeAlias

from data.plain import object_from, plain_value
from data.rules import (
    check_choice,
    check_kind,
    check_number,
    check_text,
    check_whole,
    plain_numbers,
    refuse,
)
from data.store.entries import StoredEntries, UndoStep, change_entries, load_entries, remove_entry
from data.store.entries import redo_entries as _redo
from data.store.entries import undo_entries as _undo
from data.store.folder import Place
from tinting.colour.grid import check_lab
from tinting.log.record import folded
from tinting.skin.absorptivity import dye_from_blot, dye_from_swatch
from tinting.skin.demo import demo_dyes
from tinting.skin.inputs import SCATTERING_THICKNESS, Dye, base_from_lab
from tinting.skin.uptake import MOST_COATS

Triple: TypeAlias = tuple[float, float, float]
KIND = "bottle"
PAPER = "paper"
GROUNDS = (PAPER, *SCATTERING_THICKNESS)
"""What a blot lies on: paper, or a part of one of these kinds."""
MOST_BOTTLES, LONGEST_NAME, LONGEST_LOT, LONGEST_NOTE = 200, 65, 40, 400
FORMAT, VERSION, LARGEST = "bottles", 1, 1_000_000
_NO_NAMES = ("none", "another, by name")
"""What stands in the lists of dyes beside the names of dyes."""


@dataclass(frozen=True, kw_only=True)
class Blot:
    """A dry blot of a dye: ``lab`` (3,) on what read ``bare_lab`` (3,), CIELAB under D65 for 10
    degree.

    ``ground`` is "paper", or the kind of the part that was dyed. ``share`` is the volume share of
    the dye in what was laid on, 1e-6 to 1, ``coats`` how often.
    """

    lab: Triple
    bare_lab: Triple
    ground: str = PAPER
    share: float = 1.0
    coats: int = 1

    def __post_init__(self) -> None:
        for name, key in (("blot lab", "lab"), ("bare lab", "bare_lab")):
            lab = tuple(float(value) for value in check_lab(name, getattr(self, key)))
            object.__setattr__(self, key, lab)
        check_choice("blot ground", self.ground, GROUNDS)
        check_number("blot share", self.share, least=1e-6, most=1.0)
        coats = check_whole("blot coats", self.coats, least=1, most=MOST_COATS)
        object.__setattr__(self, "coats", coats)
        plain_numbers(self)

    def dye(self, name: str) -> Dye:
        """Return the dye of that name that this blot shows, an estimate with its own band.

        Raises
        ------
        ValueError
            As `dye_from_blot` and `dye_from_swatch` do: lighter than what it lies on, or a colour
            that no dye comes near to.
        """
        if self.ground == PAPER:
            return dye_from_blot(self.lab, self.bare_lab, name, self.share, self.coats)
        base = base_from_lab(self.bare_lab, self.ground, name="part of the blot")
        return dye_from_swatch(base, self.share, self.coats, self.lab, name)


@dataclass(frozen=True, kw_only=True)
class Bottle:
    """A bottle of dye: its ``name``, its ``lot``, a ``note`` on its strength, and whether it is
    ``owned`` now.

    ``blot`` is what it is known by, None for one that is known by the swatches of the log.
    ``demo`` says that the dye of the demo of that name, which is invented, stands in for it.
    """

    name: str
    lot: str = ""
    note: str = ""
    owned: bool = True
    blot: Blot | None = None
    demo: bool = False

    def __post_init__(self) -> None:
        check_text("bottle name", self.name, LONGEST_NAME)
        if self.name != self.name.strip() or self.name.endswith(")") or self.name in _NO_NAMES:
            rule = "one without a bracket or blanks at its end, and not " + " or ".join(_NO_NAMES)
            raise refuse("bottle name", rule, self.name)
        check_text("bottle lot", self.lot, LONGEST_LOT, empty=True)
        check_text("bottle note", self.note, LONGEST_NOTE, empty=True)
        check_kind("bottle owned", self.owned, bool, "true or false")
        check_kind("bottle demo", self.demo, bool, "true or false")
        if self.blot is not None:
            check_kind("bottle blot", self.blot, Blot, "a Blot, or None")
        if self.demo and self.blot is not None:
            raise refuse("bottle demo", "false for a bottle known by a blot", self.demo)
        if self.demo:
            check_choice("bottle name", self.name, [dye.name for dye in demo_dyes()])

    @property
    def dye(self) -> Dye | None:
        """The dye of its blot or of the demo, None where only the log can know it."""
        return _dye(self)

    @property
    def known_by(self) -> str:
        """How it is known, in words."""
        if self.demo:
            return "demo, invented"
        if self.blot is None:
            return "swatches of the log"
        return "one blot on paper" if self.blot.ground == PAPER else "one blot on a part"


CLASSES = {made.__name__: made for made in (Bottle, Blot)}


@dataclass(frozen=True, kw_only=True)
class Bottles:
    """The bottles that can be used, by name, and why others cannot."""

    bottles: tuple[Bottle, ...]
    refused: Mapping[str, str]


NO_BOTTLES = Bottles(bottles=(), refused=MappingProxyType({}))


def list_bottles(*, path: Place = None) -> Bottles:
    """Return the bottles that are kept, in the order of their names.

    Raises
    ------
    StoreError
        An OSError with one plain sentence: the folder cannot be read.
    """
    found, refused = [], {}
    for name, entry in load_entries(KIND, path=path).items():
        try:
            found.append(_bottle_from(entry))
            if found[-1].name != name:
                raise refuse("bottle name", f"{name!r}, under which it is kept", found.pop().name)
        except ValueError as error:
            refused[name] = str(error)
    return Bottles(bottles=tuple(found), refused=MappingProxyType(refused))


def keep_bottle(bottle: Bottle, *, path: Place = None) -> None:
    """Keep a bottle, in place of one of the same name; safe on the disk on return.

    Raises
    ------
    ValueError
        For anything else, for a blot that no dye gives, for a name that another bottle has in
        other letters, and for more than 200 bottles.
    StoreError
        Where the disk refuses.
    """
    check_kind("bottle", bottle, Bottle, "a Bottle")
    keep_bottles([bottle], f"keep {bottle.name}", path=path)


def keep_bottles(
    bottles: Iterable[Bottle], words: str, *, replaces: bool = True, path: Place = None
) -> tuple[str, ...]:
    """Keep several bottles, all or none, as one step of undo; return the names that changed.

    Without ``replaces`` one whose name is taken is left as it is. Errors as `keep_bottle`.
    """
    wanted = _checked_bottles(bottles)
    check_kind("replaces", replaces, bool, "true or false")

    def decide(stored: StoredEntries) -> Mapping[str, Any]:
        names = {folded(name): name for name in stored.entries()}
        new = {}
        for bottle in wanted:
            taken = names.setdefault(folded(bottle.name), bottle.name)
            if taken != bottle.name and replaces:
                raise refuse("bottle name", f"spelled as it is kept, {taken}", bottle.name)
            if replaces or not stored.find(taken):
                new[bottle.name] = plain_value(bottle, CLASSES)
        if len(names) > MOST_BOTTLES:
            raise refuse("bottles", f"at most {MOST_BOTTLES}", len(names))
        return new

    return change_entries(KIND, decide, words, path=path)


def remove_bottle(name: str, *, path: Place = None) -> None:
    """Remove a bottle, also one that cannot be read; ValueError if there is none of that name."""
    remove_entry(KIND, name, path=path)


def undo_bottles(*, path: Place = None) -> UndoStep:
    """Take back the last change of the bottles."""
    return _undo(KIND, path=path)


def redo_bottles(*, path: Place = None) -> UndoStep:
    """Carry out again what `undo_bottles` took back last."""
    return _redo(KIND, path=path)


def bottles_text(*, path: Place = None) -> str:
    """Return all bottles that can be used as one JSON text, to keep or to give away."""
    entries = [plain_value(bottle, CLASSES) for bottle in list_bottles(path=path).bottles]
    whole = {"format": FORMAT, "version": VERSION, "bottles": entries}
    return json.dumps(whole, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def bottles_from(text: str | bytes) -> tuple[Bottle, ...]:
    """Return the bottles in a text of `bottles_text`, none of them kept yet.

    Raises
    ------
    ValueError
        With the reason, for a text that is too large, damaged, of another format or version, or
        holds what `Bottle` refuses.
    """
    if not isinstance(text, str | bytes) or len(text) > LARGEST:
        got = f"{len(text)}" if isinstance(text, str | bytes) else type(text).__name__
        raise refuse("bottles file", f"a text of at most {LARGEST} bytes", got)
    try:
        decoded = text if isinstance(text, str) else text.decode("utf-8-sig")
        whole = json.loads(decoded, parse_constant=_not_finite)
    except (ValueError, RecursionError):
        raise refuse("bottles file", "whole JSON of finite numbers", "something else") from None
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise refuse("bottles file", f"of the format {FORMAT!r}", "another")
    version = whole.get("version")
    if isinstance(version, bool) or version != VERSION:
        raise refuse("bottles file version", f"{VERSION}", version)
    entries = whole.get("bottles")
    if not isinstance(entries, list) or len(entries) > MOST_BOTTLES:
        raise refuse("bottles", f"a list of at most {MOST_BOTTLES}", type(entries).__name__)
    return _checked_bottles(_bottle_from(entry) for entry in entries)


def is_bottles(text: str | bytes) -> bool:
    """Say whether a text calls itself one of `bottles_text`, whether or not it is whole."""
    found = text if isinstance(text, bytes) else text.encode("utf-8", "replace")
    return b'"format": "bottles"' in found[:200]


def take_bottles(text: str | bytes, *, replaces: bool = True, path: Place = None) -> str:
    """Take the bottles of a text over, as one step of undo; return what was done, in words."""
    found = bottles_from(text)
    changed = keep_bottles(found, "take over bottles", replaces=replaces, path=path)
    return f"Bottles taken over: {len(changed)}. There already: {len(found) - len(changed)}."


@lru_cache(maxsize=256)
def _dye(bottle: Bottle) -> Dye | None:
    if bottle.demo:
        return next(dye for dye in demo_dyes() if dye.name == bottle.name)
    return None if bottle.blot is None else bottle.blot.dye(bottle.name)


def _bottle_from(entry: object) -> Bottle:
    bottle = object_from(entry, "bottle", CLASSES)
    check_kind("bottle", bottle, Bottle, "of the kind Bottle")
    _dye(bottle)  # refuses a blot that no dye gives
    return bottle  # type: ignore[no-any-return]


def _checked_bottles(bottles: Iterable[Bottle]) -> tuple[Bottle, ...]:
    found = []
    for bottle in bottles:
        check_kind("each of the bottles", bottle, Bottle, "a Bottle")
        _dye(bottle)
        found.append(bottle)
    return tuple(found)


def _not_finite(text: str) -> float:
    raise ValueError(text)
