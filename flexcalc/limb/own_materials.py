"""The maker's own filaments, wire metals and printers: kept in the user's folder, as measured.

Each is kept as plain data and read back through its class, so that a damaged or foreign entry is
refused with the sentence that its class gives. Tabled names cannot be taken.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias, TypeVar

from data.plain import object_from, plain_value
from data.rules import check_choice, check_kind, refuse
from data.store.backup import keep_backup
from data.store.entries import StoredEntries, change_entries, load_entries, remove_entry, store_path
from data.store.folder import Place, StoreError
from flexcalc.limb.inputs import Elastomer, Metal
from flexcalc.limb.materials import elastomer_names, load_elastomer, load_metal, metal_names
from flexcalc.limb.printer import Printer

Own: TypeAlias = Elastomer | Metal | Printer
Thing = TypeVar("Thing", Elastomer, Metal, Printer)
KINDS: dict[str, type] = {"elastomer": Elastomer, "metal": Metal, "printer": Printer}
CLASSES = {made.__name__: made for made in KINDS.values()}
MOST_KEPT = 200
FORMAT, VERSION, LARGEST = "own materials", 1, 1_000_000


@dataclass(frozen=True, kw_only=True)
class OwnThings:
    """The entries of one kind: those that can be used by name, and why others cannot."""

    things: Mapping[str, Own]
    refused: Mapping[str, str]


def own_things(kind: str, *, path: Place = None) -> OwnThings:
    """Return the maker's own entries of a kind, "elastomer", "metal" or "printer".

    ``path`` is the file, by default the one in the user's folder.

    Raises
    ------
    ValueError
        For another kind.
    StoreError
        An OSError with one plain sentence: the file cannot be read.
    """
    check_choice("kind", kind, tuple(KINDS))
    things: dict[str, Own] = {}
    refused = {}
    for name, entry in load_entries(kind, path=path).items():
        try:
            things[name] = _checked(object_from(entry, f"own {kind}", CLASSES), kind)
            if things[name].name != name:
                raise refuse(f"{kind} name", f"{name!r}, under which it is kept", things[name].name)
        except ValueError as error:
            things.pop(name, None)
            refused[name] = str(error)
    return OwnThings(things=things, refused=refused)


def own_elastomers(*, path: Place = None) -> dict[str, Elastomer]:
    """Return the maker's own filaments by name; errors as `own_things`."""
    return _of(Elastomer, own_things("elastomer", path=path))


def own_metals(*, path: Place = None) -> dict[str, Metal]:
    """Return the maker's own wire metals by name; errors as `own_things`."""
    return _of(Metal, own_things("metal", path=path))


def own_printers(*, path: Place = None) -> dict[str, Printer]:
    """Return the maker's own printers by name; errors as `own_things`."""
    return _of(Printer, own_things("printer", path=path))


def find_elastomer(name: str, *, path: Place = None) -> Elastomer:
    """Return a filament of the table or of the maker's own; ValueError for an unknown name."""
    if isinstance(name, str) and name in elastomer_names():
        return load_elastomer(name)
    return _found("elastomer name", name, elastomer_names(), own_elastomers(path=path))


def find_metal(name: str, *, path: Place = None) -> Metal:
    """Return a wire metal of the table or of the maker's own; ValueError for an unknown name."""
    if isinstance(name, str) and name in metal_names():
        return load_metal(name)
    return _found("metal name", name, metal_names(), own_metals(path=path))


def find_printer(name: str, *, path: Place = None) -> Printer:
    """Return the untested printer or one of the maker's own; ValueError for an unknown name."""
    if isinstance(name, str) and name == Printer().name:
        return Printer()
    return _found("printer name", name, (Printer().name,), own_printers(path=path))


def save_own(thing: Own, *, path: Place = None) -> None:
    """Keep a filament, metal or printer under its name, in place of what stood there.

    Raises
    ------
    ValueError
        For anything else, a tabled name, or more than 200 of a kind.
    StoreError
        Where the disk refuses.
    """
    keep_all([thing], f"keep {getattr(thing, 'name', '')}", path=path)


def keep_all(things: list[Own], words: str, *, path: Place = None) -> None:
    """Keep many things, each kind whole or not at all; errors as `save_own`."""
    check_kind("own things", things, list, "a list of them")
    by_kind: dict[str, dict[str, Any]] = {}
    if len(things) > 1:
        keep_backup(store_path(path))
    for thing in things:
        kind = _kind(thing)
        if thing.name in _tabled(kind):
            raise refuse(f"{kind} name", "other than a tabled one", thing.name)
        by_kind.setdefault(kind, {})[thing.name] = plain_value(thing, CLASSES)

    def decide(stored: StoredEntries) -> Mapping[str, Any]:
        kept = by_kind[stored.kind]
        if len({*stored.entries(), *kept}) > MOST_KEPT:
            raise refuse(f"own {stored.kind} entries", f"at most {MOST_KEPT}", "more")
        return kept

    for kind in by_kind:
        change_entries(kind, decide, words, path=path)


def remove_own(kind: str, name: str, *, path: Place = None) -> None:
    """Remove an entry, also one that cannot be read; ValueError if there is none of that name."""
    check_choice("kind", kind, tuple(KINDS))
    remove_entry(kind, name, path=path)


def own_text(*, path: Place = None) -> str:
    """Return all own entries that can be used as one JSON text, to keep or to give away."""
    entries = {
        kind: [plain_value(thing, CLASSES) for thing in own_things(kind, path=path).things.values()]
        for kind in KINDS
    }
    whole = {"format": FORMAT, "version": VERSION, **entries}
    return json.dumps(whole, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def things_from(text: str | bytes) -> list[Own]:
    """Return the things in a text of `own_text`, none of them kept yet.

    Raises
    ------
    ValueError
        With the reason, for a text that is too large, damaged, of another format or version, or
        holds what a class refuses.
    """
    whole = _parsed(text)
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise refuse("materials file", f"of the format {FORMAT!r}", "another")
    version = whole.get("version")
    if isinstance(version, bool) or version != VERSION:
        raise refuse("materials file version", f"{VERSION}", version)
    things: list[Own] = []
    for kind in KINDS:
        entries = whole.get(kind, [])
        if not isinstance(entries, list) or len(entries) > MOST_KEPT:
            raise refuse(f"{kind} entries", f"a list of at most {MOST_KEPT}", entries)
        things += [_checked(object_from(entry, f"own {kind}", CLASSES), kind) for entry in entries]
    return things


def _parsed(text: object) -> Any:
    if not isinstance(text, str | bytes) or len(text) > LARGEST:
        got = f"{len(text)}" if isinstance(text, str | bytes) else type(text).__name__
        raise refuse("materials file", f"a text of at most {LARGEST} bytes", got)
    try:
        decoded = text if isinstance(text, str) else text.decode("utf-8-sig")
        return json.loads(decoded, parse_constant=_not_finite)
    except (ValueError, RecursionError):
        raise refuse("materials file", "whole JSON of finite numbers", "something else") from None


def _not_finite(text: str) -> float:
    raise ValueError(text)


def _kind(thing: object) -> str:
    for kind, made in KINDS.items():
        if isinstance(thing, made):
            return kind
    raise refuse("own thing", "an Elastomer, a Metal or a Printer", type(thing).__name__)


def _checked(thing: object, kind: str) -> Own:
    check_kind(f"own {kind}", thing, KINDS[kind], f"of the kind {KINDS[kind].__name__}")
    return thing  # type: ignore[return-value]


def _tabled(kind: str) -> tuple[str, ...]:
    tabled = {"elastomer": elastomer_names(), "metal": metal_names()}
    return tabled.get(kind, (Printer().name,))


def _of(made: type[Thing], found: OwnThings) -> dict[str, Thing]:
    return {name: thing for name, thing in found.things.items() if isinstance(thing, made)}


def _found(what: str, name: object, tabled: tuple[str, ...], own: Mapping[str, Thing]) -> Thing:
    return own[check_choice(what, name, (*tabled, *own))]


def own_names(kind: str, *, path: Place = None) -> tuple[str, ...]:
    """Return the tabled names of a kind and then the maker's own, those that can be read."""
    tabled = _tabled(check_choice("kind", kind, tuple(KINDS)))
    try:
        return (*tabled, *own_things(kind, path=path).things)
    except StoreError:
        return tabled  # said where the own ones are listed
