"""One row of the wire table: how a wire holds, what it asks of the hand, why it does not do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from data import read_table
from data.rules import Array
from flexcalc.build.channel import ChannelSize
from flexcalc.build.kink import Kink
from flexcalc.build.life import WireLife, wire_life
from flexcalc.compare.batch import FittedWire, Outcomes
from flexcalc.limb.inputs import Limb, Setting, Wire
from flexcalc.limb.printer import Printer
from flexcalc.limb.trade import trade_size, wire_name
from flexcalc.spread.likely_limits import limits_met
from flexcalc.spread.sample import BAND, Band
from flexcalc.verdict.checks import build_checks, together_check
from flexcalc.verdict.plan import Wish
from flexcalc.verdict.verdict import likely_limbs

NEAR, EVEN = 2.0, 0.45
"""Standard errors within which a row's probability does not tell whether the wire holds, and what
they are of those of random draws: low-discrepancy points tell it closer (244 rows compared)."""


@dataclass(frozen=True, kw_only=True)
class WireChoice:
    """How one wire does in the limb.

    ``name`` is what to ask for, ``system`` what it is sold by ("metric", "AWG", "SWG"); ``limb``
    is the limb with this wire in the ``channel`` that would be printed for it. ``worst_share`` is
    the band of the share that the worst bend keeps, ``tip_sag`` [m] that of the tip's fall;
    ``probability`` of both being as wished, without a kink and through the
    wanted life, ``probability_kept`` and ``probability_within_sag`` of
    each, ``probability_stable`` of not buckling or snapping over. ``bending_moment`` [N m] holds
    wire and elastomer where they are bent most, ``press_force`` [N] is the thumb's that does it;
    ``insertion_force`` [N] pushes the wire in if the channel comes out tight. ``life`` is the
    range of re-poses; ``surface_strain`` that of the wire in the tightest bend; ``wire_mass`` [kg]
    of a wire as long as the limb, ``mass`` [kg] of the limb with it. ``reasons`` say why it does
    not do, none where it ``fits``.
    """

    wire: Wire = field(repr=False)
    name: str
    system: str
    limb: Limb = field(repr=False)
    channel: ChannelSize = field(repr=False)
    worst_share: Band
    tip_sag: Band
    probability_kept: float
    probability_within_sag: float
    probability: float
    probability_stable: float
    bending_moment: float
    press_force: float
    insertion_force: float
    life: WireLife = field(repr=False)
    surface_strain: float
    wire_mass: float
    mass: float
    reasons: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether nothing speaks against the wire but how much it holds."""
        return not self.reasons


@dataclass(frozen=True, kw_only=True)
class Question:
    """What every wire is asked: the pose, the wish, the printer, the seed drawn by, the kink."""

    setting: Setting
    wish: Wish
    printer: Printer
    seed: int
    kink: Kink


def wire_choices(
    fitted: Sequence[FittedWire], outcomes: Outcomes, question: Question
) -> tuple[WireChoice, ...]:
    """Return the rows of the wires, in their order."""
    wish = question.wish
    kept = outcomes.worst >= wish.share
    within = outcomes.within(wish.sag, wish.tip_within)
    shares, sags = _bands(outcomes.worst), _bands(outcomes.sags)
    rows = []
    for index, one in enumerate(fitted):
        tightest, force = float(outcomes.peak[index]), float(outcomes.press_force[index])
        life = wire_life(one.wire, tightest)
        straight, lives = limits_met(
            question.kink, life, tightest, wish.re_poses, kept.shape[1], question.seed
        )
        strain = tightest * one.wire.diameter / 2
        wire = one.wire
        rows.append(
            WireChoice(
                wire=wire,
                name=wire_name(wire),
                system=trade_size(wire).system,
                limb=one.limb,
                channel=one.channel,
                worst_share=shares[index],
                tip_sag=sags[index],
                probability_kept=float(kept[index].mean()),
                probability_within_sag=float(within[index].mean()),
                probability=float((kept[index] & within[index] & straight & lives).mean()),
                probability_stable=float(outcomes.stable[index].mean()),
                bending_moment=float(outcomes.bending_moment[index]),
                press_force=force,
                insertion_force=together_check(one.limb, one.channel, question.printer).value,
                life=life,
                surface_strain=strain,
                wire_mass=wire.mass_per_length * one.limb.length,
                mass=float(outcomes.mass[index]),
                reasons=_reasons(strain, life, force, tightest, question),
            )
        )
    return tuple(rows)


def drawn_again(rows: Sequence[WireChoice], samples: int, question: Question) -> list[WireChoice]:
    """Return rows of which those near the wanted probability are drawn as a verdict draws them.

    Near is within two standard errors of so many ``samples``; what such a row says is what the
    verdict on its limb says. One that holds is also asked whether it can be built.
    """
    wanted = question.wish.probability
    doubt = NEAR * EVEN * math.sqrt(wanted * (1 - wanted) / samples)
    found = []
    for row in rows:
        near = row.fits and abs(row.probability - wanted) <= doubt
        told = _as_the_verdict(row, question) if near else row
        found.append(_built(told, question) if told.fits and told.probability >= wanted else told)
    return found


def _built(row: WireChoice, question: Question) -> WireChoice:
    """Return a row with what speaks against building it, if anything does."""
    checks = build_checks(row.limb, question.setting, row.channel, question.printer)
    failed = tuple(check.answer for check in checks if check.state == "fails")
    return replace(row, reasons=row.reasons + failed)


def _as_the_verdict(row: WireChoice, question: Question) -> WireChoice:
    likely = likely_limbs(row.limb, question.setting, question.wish, question.printer)
    return replace(
        row,
        worst_share=likely.worst_share,
        tip_sag=likely.tip_sag,
        probability_kept=likely.probability_kept,
        probability_within_sag=likely.probability_within_sag,
        probability=likely.probability,
        probability_stable=likely.probability_stable,
    )


def _bands(values: Array) -> list[Band]:
    low, median, high = np.quantile(values, (BAND[0], 0.5, BAND[1]), axis=1)
    return [
        Band(median=float(m), low=float(a), high=float(b))
        for m, a, b in zip(median, low, high, strict=True)
    ]


def _reasons(
    strain: float, life: WireLife, force: float, tightest: float, question: Question
) -> tuple[str, ...]:
    constants = read_table("constants")
    limit, hand = constants["tried range"]["wire_strain"].value, constants["hand"]["bend"].high
    kink = question.kink
    way = "creases inside" if kink.mode == "crease" else "kinks"
    found = {
        f"its surface stretches by {strain:.0%} in the tightest bend and may crack": strain > limit,
        f"it breaks after {life.low:.0f} to {life.high:.0f} re-poses": life.high
        < question.wish.re_poses,
        f"bending it takes {force:.0f} N of the thumb, too much for a hand": (force > hand),
        f"the limb itself {way} below R {kink.radius * 1e3:.0f} mm": (tightest * kink.radius > 1),
    }
    return tuple(text for text, true in found.items() if true)
