"""The wires in the maker's drawer, kept in the user folder: a metal and a size as it is typed."""

from __future__ import annotations

from dataclasses import dataclass

from data.rules import check_name
from data.store.entries import load_entries, remove_entry, save_entry
from data.store.folder import Place
from flexcalc.limb.gauge import parse_length

KIND = "drawer"


@dataclass(frozen=True, kw_only=True)
class DrawerWire:
    """A wire in the drawer: the name of its ``metal``, its ``size`` as typed ("AWG 12", "2.5")."""

    metal: str
    size: str

    def __post_init__(self) -> None:
        check_name("metal name", self.metal)
        parse_length(self.size, "wire diameter")

    @property
    def name(self) -> str:
        """What it is called, "annealed aluminium 1100, AWG 12"."""
        return f"{self.metal}, {self.size.strip()}"

    @property
    def diameter(self) -> float:
        """Its diameter. [m]"""
        return parse_length(self.size, "wire diameter")


def drawer_wires(*, path: Place = None) -> tuple[DrawerWire, ...]:
    """Return the wires in the drawer by name; one that cannot be read is left out.

    Raises
    ------
    StoreError
        Where the folder cannot be read.
    """
    found = []
    for fields in load_entries(KIND, path=path).values():
        try:
            found.append(DrawerWire(metal=fields["metal"], size=fields["size"]))
        except (ValueError, KeyError, TypeError):
            continue
    return tuple(found)


def put_in_drawer(wire: DrawerWire, *, path: Place = None) -> None:
    """Keep a wire in the drawer; StoreError where the disk refuses."""
    save_entry(KIND, wire.name, {"metal": wire.metal, "size": wire.size.strip()}, path=path)


def take_from_drawer(wire: DrawerWire, *, path: Place = None) -> None:
    """Take a wire out of the drawer; ValueError if it is not in it."""
    remove_entry(KIND, wire.name, path=path)
