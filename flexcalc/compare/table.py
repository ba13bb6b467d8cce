"""The table of wires: the smallest that holds, and what a stranger can buy in its place."""

from __future__ import annotations

from dataclasses import dataclass, field

from data.rules import Caution, check_kind, refuse
from flexcalc.compare.batch import Misfit
from flexcalc.compare.row import WireChoice
from flexcalc.limb.inputs import Wire
from flexcalc.verdict.plan import Wish


@dataclass(frozen=True, kw_only=True)
class WireTable:
    """Wires compared in one limb.

    ``rows`` in the order asked for; ``misfits`` cannot be put in at all; ``screened`` wires were
    looked at, and ``samples`` limbs drawn for each row, as many as for a verdict where that is
    a close thing. A row holds if it fits and its probability is at least ``confidence``.
    ``lever`` [m] is that of the hand. ``cautions`` are those of limb, channels and lives, each
    kind once.
    """

    rows: tuple[WireChoice, ...] = field(repr=False)
    misfits: tuple[Misfit, ...] = field(repr=False)
    wish: Wish
    confidence: float
    samples: int
    screened: int
    lever: float
    cautions: tuple[Caution, ...]

    def __str__(self) -> str:
        return self.sentence

    def holds(self, row: WireChoice) -> bool:
        """Return whether a row fits and holds as wished with the wanted confidence."""
        check_kind("row", row, WireChoice, "a WireChoice")
        return row.fits and row.probability >= self.confidence

    @property
    def smallest_that_holds(self) -> WireChoice | None:
        """The thinnest bundle that holds, the lightest of several; None where none does."""
        return min(filter(self.holds, self.rows), key=_thickness, default=None)

    @property
    def smallest_of_each_metal(self) -> tuple[WireChoice, ...]:
        """The thinnest that holds of every metal that has one, thinnest first."""
        best: dict[str, WireChoice] = {}
        for row in sorted(filter(self.holds, self.rows), key=_thickness):
            best.setdefault(row.wire.metal.name, row)
        return tuple(best.values())

    def substitutes(self, wire: Wire) -> tuple[WireChoice, ...]:
        """Return rows that hold as well as a given wire, for who cannot buy it.

        Parameters
        ----------
        wire : Wire
            One of the table's rows.

        Returns
        -------
        tuple of WireChoice
            Of every metal, number of strands and system of sizes the thinnest that holds too, or
            where the given wire does not hold, that fits, is as likely to hold and keeps as much
            of the bend; those that ask least of the hand first.

        Raises
        ------
        ValueError
            For a wire that is not in a row.
        """
        given = self.row(wire)
        best: dict[tuple[object, ...], WireChoice] = {}
        for row in sorted(self.rows, key=_thickness):
            if row.wire != wire and self._as_well(row, given):
                best.setdefault((row.wire.metal.name, row.wire.strands, row.system), row)
        return tuple(sorted(best.values(), key=lambda row: row.bending_moment))

    def _as_well(self, row: WireChoice, given: WireChoice) -> bool:
        if self.holds(row):
            return True
        likely = row.fits and row.probability >= given.probability
        kept = row.worst_share.median >= given.worst_share.median
        return likely and kept and not self.holds(given)

    def row(self, wire: Wire) -> WireChoice:
        """Return the row of a wire; ValueError if it has none."""
        check_kind("wire", wire, Wire, "a Wire")
        for row in self.rows:
            if row.wire == wire:
                return row
        raise refuse("wire", "one of the table's rows", f"{wire.metal.name} {wire.diameter:g} m")

    @property
    def sentence(self) -> str:
        """What to buy, in words."""
        best = self.smallest_that_holds
        wish = f"{self.wish.share:.0%} of the bend and {self.wish.sag * 1e3:g} mm of sag"
        if best is not None:
            return (
                f"The smallest that holds: {best.name}, with a probability of "
                f"{best.probability:.0%} ({wish}). Draw its channel "
                f"{best.channel.draw_diameter * 1e3:.2f} mm."
            )
        fitting = [row for row in self.rows if row.fits]
        if not fitting:
            sets = [set(row.reasons) for row in self.rows]
            common = sorted(set.intersection(*sets)) if sets else []
            why = f": {common[0]}." if common else "; each row says why."
            return f"None of these wires does in this limb{why}"
        near = max(fitting, key=lambda row: (row.probability, row.worst_share.median))
        return (
            f"None of these wires holds {wish} with a probability of {self.confidence:.0%}. The "
            f"best, {near.name}, does with {near.probability:.0%}."
        )


def _thickness(row: WireChoice) -> tuple[float, float]:
    return row.wire.bundle_diameter, row.wire_mass
