"""The maker's own hand, kept in the user folder."""

from __future__ import annotations

from data.rules import check_choice, check_kind
from data.store.entries import load_entries, save_entry
from data.store.folder import Place
from tinting.skin.inputs import Hand

KIND = "hand"
KNOWN_BY = ("estimates", "log")
"""What the dyes of the strip were known by: one colour each, or the swatches of the log."""


def keep_hand(hand: Hand, known_by: str = "estimates", *, path: Place = None) -> None:
    """Keep the maker's hand, safe on the disk on return.

    Parameters
    ----------
    hand : Hand
        From `tinting.learn.hand.hand_factor`.
    known_by : str
        "estimates" or "log": whose swatches it stands against.
    path : str or Path, optional
        The file; left out, the user's own.

    Raises
    ------
    ValueError
        For anything but these.
    StoreError
        An OSError with one plain sentence: disk full, folder read-only, file damaged or newer.
    """
    check_kind("hand", hand, Hand, "a Hand")
    name = check_choice("known by", known_by, KNOWN_BY)
    save_entry(KIND, name, {"factor": hand.factor, "spread": hand.spread}, path=path)


def kept_hand(known_by: str = "estimates", *, path: Place = None) -> Hand | None:
    """Return the hand that was kept, None where none was; arguments as for `keep_hand`."""
    name = check_choice("known by", known_by, KNOWN_BY)
    fields = load_entries(KIND, path=path).get(name)
    return Hand(factor=fields["factor"], spread=fields["spread"]) if fields else None
