"""Which wire to buy: every metal in every usual size, in the one limb and pose.

All wires meet the same drawn limbs, so that even a few limbs rank them well; the bands of one
wire are those of `sample_pose` with as few samples.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from data.rules import Caution, check_choice, check_kind, check_number, check_whole, refuse
from flexcalc.build.kink import Kink, kink_radius_of
from flexcalc.compare.batch import Misfit as Misfit
from flexcalc.compare.batch import fitted_wires, posed_wires
from flexcalc.compare.row import Question, drawn_again, wire_choices
from flexcalc.compare.row import WireChoice as WireChoice
from flexcalc.compare.screen import wires_near_the_wish
from flexcalc.compare.table import WireTable as WireTable
from flexcalc.limb.inputs import Limb, Metal, Setting, Wire
from flexcalc.limb.printer import ORIENTATIONS, Printer
from flexcalc.limb.trade import trade_wires
from flexcalc.pose.cautions import bend_cautions
from flexcalc.pose.pose import check_bends
from flexcalc.spread.likely_limbs import unit_points
from flexcalc.verdict.plan import Wish
from flexcalc.wire.bending import rebent_limb, rebent_wire

MOST_WIRES = 1000
FEWEST = 8
MOST_ROWS = 200_000
"""Wires times samples that are worked out at most."""
WIRE_CAUTIONS = ("no wire", "elastic bend", "wire strain")


def compare_wires(
    limb: Limb,
    setting: Setting,
    wires: Sequence[Wire] | None = None,
    *,
    wish: Wish | None = None,
    printer: Printer | None = None,
    orientation: str = "lying",
    samples: int = 64,
    seed: int = 0,
    rule: str | None = None,
    re_poses: float | None = None,
    confidence: float | None = None,
    metals: Sequence[Metal] | None = None,
    progress: Callable[[float], None] | None = None,
) -> WireTable:
    """Return how wires compare in a limb: how likely each holds, and what it asks for.

    Parameters
    ----------
    limb, setting : Limb, Setting
        The limb is adapted to each wire: its channel becomes the opening that would be printed
        for the wire, sleeve and offset stay; a bore stays as it is and must take the wire. The
        limb's own wire does not matter where ``wires`` are given.
    wires : sequence of Wire, optional
        1 to 1000. Left out, every metal in every usual size (metric 0.8 to 5 mm, AWG and SWG 6 to
        20) of 1 to 3 strands is screened, and the rows are the limb's own wire and, of
        each metal and number of strands, the sizes from just too weak to surely strong enough.
    wish : Wish, optional
        What counts as holding.
    printer : Printer, optional
        An untested one if left out.
    orientation : str
        How the channel lies in the printer, "lying" or "upright".
    samples : int
        Limbs drawn for each wire, 8 to 1024. 64 tell a share within 0.02, a probability within
        0.05.
    seed : int
        0 to 2**32 - 1; the points are those of `sample_pose`.
    rule : str, optional
        In place of the ``reversal`` of the wires' metals.
    re_poses : float, optional
        Wanted life in place of the wish's; a wire whose most hopeful life is shorter does not fit.
    confidence : float, optional
        Probability from which a wire holds, in place of the wish's.
    metals : sequence of Metal, optional
        What is screened where ``wires`` are left out; the tabled ones if left out too.
    progress : callable, optional
        Is told the share of the work that is done, 0 to 1.

    Returns
    -------
    WireTable

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*, also for a bend beyond the limb.
    RuntimeError
        With its inputs, if the rod solver does not converge.

    Notes
    -----
    The chain of `sample_pose` with shared sections (compare_sections): share within 2e-3 of it,
    sag within 2 %. Rows within two standard errors of the wanted probability are drawn again with
    the draws of the verdict, so that what the table calls holding holds when it is used.
    """
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("setting", setting, Setting, "a Setting")
    limb = rebent_limb(limb, rule, None)
    check_bends(replace(limb, wire=None), setting)
    wish = Wish() if wish is None else wish
    machine = Printer() if printer is None else printer
    check_kind("wish", wish, Wish, "a Wish or None")
    check_kind("printer", machine, Printer, "a Printer or None")
    check_choice("orientation", orientation, ORIENTATIONS)
    count = check_whole("samples", samples, least=FEWEST, most=1024)
    start = check_whole("seed", seed, least=0, most=2**32 - 1)
    points = unit_points(count, start)
    if re_poses is not None:
        wish = replace(wish, re_poses=check_number("re-poses", re_poses, least=1.0, most=1e7))
    if confidence is not None:
        sure = check_number("confidence", confidence, least=0.0, most=1.0)
        wish = replace(wish, probability=sure)
    if progress is not None and not callable(progress):
        raise refuse("progress", "callable or None", type(progress).__name__)
    listed = _usual_wires(limb, metals) if wires is None else _checked_wires(wires)
    listed = [rebent_wire(wire, rule, None) for wire in listed]
    fitted, misfits = fitted_wires(limb, setting, listed, machine, orientation)
    if wires is None and fitted:
        fitted = wires_near_the_wish(fitted, setting, machine, wish, limb.wire)
    if len(fitted) * count > MOST_ROWS:
        raise refuse("samples", f"at most {MOST_ROWS // len(fitted)} for so many wires", count)
    rows: tuple[WireChoice, ...] = ()
    kink = kink_radius_of(limb, printer=machine)
    if fitted:
        outcomes = posed_wires(fitted, setting, machine, points, progress)
        question = Question(setting=setting, wish=wish, printer=machine, seed=start, kink=kink)
        rows = tuple(drawn_again(wire_choices(fitted, outcomes, question), count, question))
    return WireTable(
        rows=rows,
        misfits=tuple(misfits),
        wish=wish,
        confidence=wish.probability,
        samples=count,
        screened=len(listed),
        lever=setting.lever,
        cautions=_cautions(limb, setting, rows, kink),
    )


def _checked_wires(wires: object) -> list[Wire]:
    if not isinstance(wires, list | tuple) or not 1 <= len(wires) <= MOST_WIRES:
        rule = f"a list of 1 to {MOST_WIRES} wires"
        raise refuse("wires", rule, len(wires) if isinstance(wires, list | tuple) else wires)
    for wire in wires:
        check_kind("wires", wire, Wire, "a list of Wire")
    return list(wires)


def _usual_wires(limb: Limb, metals: Sequence[Metal] | None) -> list[Wire]:
    own = [limb.wire] if limb.wire is not None else []
    return list(dict.fromkeys([*own, *trade_wires(metals=metals)]))


def _cautions(
    limb: Limb, setting: Setting, rows: tuple[WireChoice, ...], kink: Kink
) -> tuple[Caution, ...]:
    found = [
        caution
        for caution in bend_cautions(replace(limb, wire=None), setting)
        if caution.key not in WIRE_CAUTIONS
    ]
    found += kink.cautions
    for row in rows:
        found += [*row.channel.cautions, *row.life.cautions]
    return tuple({caution.key: caution for caution in found}.values())
