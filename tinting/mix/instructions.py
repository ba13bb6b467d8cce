"""How to mix a planned tint: what goes in, what to watch, and how long to wait."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from data import read_table
from data.rules import Caution, check_choice, check_kind, check_number
from tinting.colour.colorimetry import delta_e
from tinting.colour.grid import Array
from tinting.mix.batch import (
    DENSITY,
    FEWEST_DROPS,
    MixLine,
    drops_for,
    parts_text,
    pre_dilution,
    volume_for_area,
)
from tinting.mix.plan import TintPlan
from tinting.mix.vapour import vapour_cautions, vapour_ppm
from tinting.skin.dyed import tint

_COAT = read_table("constants")["coat"]


@dataclass(frozen=True, kw_only=True)
class Dose:
    """One dye of a batch in whole drops.

    ``parts_alcohol`` to one part of dye make the first dilution that is counted out (0: the dye as
    it comes), ``share`` is the dye's share of the batch that the drops really give, ``per_drop``
    what one drop adds to it.
    """

    name: str
    drops: int
    parts_alcohol: int
    share: float
    per_drop: float


@dataclass(frozen=True, kw_only=True)
class Mixing:
    """A batch as it is mixed.

    ``doses`` are the dyes, ``lines`` all liquids in whole drops, the alcohol last. ``parts`` says
    the mix in parts, ``needed`` is the volume that the surface takes with all coats [m3].
    ``vapour`` [ppm] if all of it evaporates in the closed room. ``rounding`` [dE] is what whole
    drops alone shift, ``one_more`` what one drop more of each dye does. ``steps`` is the work in
    order, ``air_and_fire`` the cautions that belong beside it.
    """

    doses: tuple[Dose, ...]
    lines: tuple[MixLine, ...]
    parts: str
    needed: float
    vapour: float
    rounding: float
    one_more: tuple[tuple[str, float], ...]
    steps: tuple[str, ...] = field(repr=False)
    cautions: tuple[Caution, ...]
    air_and_fire: tuple[Caution, ...]


def mixing(plan: TintPlan) -> Mixing:
    """Return how to mix a plan's batch and lay it on.

    Raises
    ------
    ValueError
        For a batch smaller than a drop, or too small for its weakest dye.
    """
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    doses = tuple(
        _dose(name, share, plan.batch_volume, plan.drop_volume)
        for name, share in _by_name(plan).items()
    )
    lines = _lines(doses, plan.batch_volume, plan.drop_volume)
    poured = sum(line.volume for line in lines)
    # whole drops can come out more than the batch, which is weaker then
    thinner = min(plan.batch_volume / poured, 1.0)
    doses = tuple(
        replace(dose, share=dose.share * thinner, per_drop=dose.per_drop * thinner)
        for dose in doses
    )
    counted = {dose.name: dose.share for dose in doses}
    meant, real = plan.result().lab(), _lab(plan, counted)
    needed = volume_for_area(plan.area, plan.coats) if plan.coats else 0.0
    return Mixing(
        doses=doses,
        lines=lines,
        parts=mix_in_parts(plan),
        needed=needed,
        vapour=vapour_ppm(plan.batch_volume, plan.room_volume),
        rounding=float(delta_e(meant, real)),
        one_more=tuple(
            (dose.name, float(delta_e(real, _lab(plan, _with_one_more(counted, dose)))))
            for dose in doses
        ),
        steps=_steps(plan, doses, lines),
        cautions=_cautions(plan, doses, needed, poured),
        air_and_fire=vapour_cautions(plan.batch_volume, plan.room_volume),
    )


def ticked_steps(plan: TintPlan, mixed: Mixing) -> tuple[str, ...]:
    """Return the work in order to be ticked off, every coat a step with a place for its time."""
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    check_kind("mixed", mixed, Mixing, "what `mixing` returns")
    wait = f"; {waiting('flash_off_time')}, jar closed."
    coats = [
        f"Coat {number}, thin and even, at ____:____{wait if number < plan.coats else '.'}"
        for number in range(1, plan.coats + 1)
    ]
    return (*_jar_steps(mixed.doses, mixed.lines), *coats, *_last_steps(plan))


def batch_words(plan: TintPlan, mixed: Mixing) -> str:
    """Return what the surface takes and what is left over, in words; "" without coats."""
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    check_kind("mixed", mixed, Mixing, "what `mixing` returns")
    if not plan.coats:
        return ""
    coats = "1 coat" if plan.coats == 1 else f"{plan.coats} coats"
    over, square_cm = plan.batch_volume - mixed.needed, plan.area * 1e4
    rest = f"{millilitres(abs(over))} {'left over' if over > 0 else 'too little'}"
    if abs(over) < 1e-9:
        rest = "nothing left over"
    return (
        f"{square_cm:.0f} cm² take about {millilitres(mixed.needed)} with {coats}, brush and "
        f"jar included: {rest}."
    )


def mix_in_parts(plan: TintPlan) -> str:
    """Return a plan's mix in words, "1 part reed green + 9 parts alcohol", the least dye as 1."""
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    shares = _by_name(plan)
    if not shares:
        return "alcohol alone"
    least, rest = min(shares.values()), 1 - sum(shares.values())
    named = [*shares.items(), ("alcohol", rest)] if rest > 1e-9 else [*shares.items()]
    return " + ".join(f"{_parts(share / least)} {name}" for name, share in named)


def millilitres(volume: float) -> str:
    """Return a volume [m3] as a maker reads it, in mL."""
    amount = check_number("volume", volume, least=0.0, most=1e3, unit="m3") * 1e6
    return f"{amount:.0f} mL" if amount >= 100 else f"{amount:.3g} mL"


def waiting(quantity: str) -> str:
    """Return a waiting time of the trade in words, "3 min (1.5 to 5)".

    ``quantity`` is "flash_off_time" between coats or "drying_time" before the colour is judged.
    """
    row = _COAT[check_choice("waiting time", quantity, ("flash_off_time", "drying_time"))]
    return f"{row.value / 60:.3g} min ({row.low / 60:.3g} to {row.high / 60:.3g})"


def _by_name(plan: TintPlan) -> dict[str, float]:
    """The share of each dye that is in the mix at all."""
    shares: dict[str, float] = {}
    for dye, share in plan.mix:
        shares[dye.name] = shares.get(dye.name, 0.0) + share
    return {name: share for name, share in shares.items() if share > 0}


def _dose(name: str, share: float, batch: float, drop: float) -> Dose:
    counted = drops_for(batch, share, drop)
    if counted.drops >= FEWEST_DROPS:
        drops, parts, real = counted.drops, 0, counted.share
    else:
        weak = pre_dilution(batch, share, drop)
        drops, parts, real = weak.drops, weak.parts_alcohol, weak.share
    return Dose(
        name=name,
        drops=drops,
        parts_alcohol=parts,
        share=real,
        per_drop=drop / batch / (parts + 1),
    )


def _lines(doses: tuple[Dose, ...], batch: float, drop: float) -> tuple[MixLine, ...]:
    lines = [(_dose_name(dose), dose.drops, dose.drops * drop) for dose in doses]
    alcohol = max(batch - sum(volume for _, _, volume in lines), 0.0)
    lines.append(("isopropyl alcohol", round(alcohol / drop), alcohol))
    return tuple(
        MixLine(name=name, drops=drops, volume=volume, mass=volume * DENSITY)
        for name, drops, volume in lines
    )


def _dose_name(dose: Dose) -> str:
    if not dose.parts_alcohol:
        return dose.name
    return f"{dose.name}, diluted first: {parts_text(1 / (dose.parts_alcohol + 1))}"


def _with_one_more(counted: Mapping[str, float], dose: Dose) -> dict[str, float]:
    return {**counted, dose.name: counted[dose.name] + dose.per_drop}


def _lab(plan: TintPlan, shares: Mapping[str, float]) -> Array:
    """Colour of a plan's part with other shares, scaled down if they fill more than the jar."""
    whole = max(sum(shares.values()), 1.0)
    dyes = {dye.name: dye for dye, _ in plan.mix}
    mix = [(dyes[name], share / whole) for name, share in shares.items()]
    return tint(plan.base, mix, plan.coats, hand=plan.hand).lab()


def _jar_steps(doses: tuple[Dose, ...], lines: tuple[MixLine, ...]) -> tuple[str, ...]:
    steps = ["Put on gloves and eye protection, open a window, clear away flames and hot nozzles."]
    for dose in doses:
        if dose.parts_alcohol:
            parts = parts_text(1 / (dose.parts_alcohol + 1))
            steps.append(f"Dilute {dose.name} first in a jar of its own: {parts}.")
    steps.append(f"Put {millilitres(lines[-1].volume)} of isopropyl alcohol (99 %) in the jar.")
    steps += [f"Add {line.drops} drops of {line.name}." for line in lines[:-1]]
    steps.append("Close the jar, shake, and try it on a scrap print of the same filament.")
    return tuple(steps)


def _steps(plan: TintPlan, doses: tuple[Dose, ...], lines: tuple[MixLine, ...]) -> tuple[str, ...]:
    steps = [*_jar_steps(doses, lines)]
    if plan.coats:
        coats = "1 thin, even coat" if plan.coats == 1 else f"{plan.coats} thin, even coats"
        between = f", waiting {waiting('flash_off_time')} between coats" if plan.coats > 1 else ""
        steps.append(f"Brush on {coats}{between}. Keep the jar closed meanwhile.")
    return (*steps, *_last_steps(plan))


def _last_steps(plan: TintPlan) -> tuple[str, ...]:
    dry = waiting("drying_time")
    judged = f"Judge the colour after {dry} of drying, and again the next day."
    return (*((judged,) if plan.coats else ()), "Let rags dry outdoors, spread out.")


def _cautions(
    plan: TintPlan, doses: tuple[Dose, ...], needed: float, poured: float
) -> tuple[Caution, ...]:
    found = []
    if poured > plan.batch_volume * (1 + 1e-9):
        text = (
            f"Whole drops and first dilutions come to {millilitres(poured)}, more than the batch "
            f"of {millilitres(plan.batch_volume)}, so no alcohol is added and the mix is "
            f"{plan.batch_volume / poured:.1%} as strong as planned. Mix a larger batch."
        )
        found.append(Caution(key="more than batch", text=text))
    if needed > plan.batch_volume * (1 + 1e-9):
        text = (
            f"The batch of {millilitres(plan.batch_volume)} is less than the "
            f"{millilitres(needed)} that the surface takes with all coats: mix it larger, since a "
            "second batch never comes out quite the same."
        )
        found.append(Caution(key="batch too small", text=text))
    weak = [dose.name for dose in doses if dose.parts_alcohol]
    if weak:
        text = (
            f"Fewer than {FEWEST_DROPS} drops of {', '.join(weak)}: one drop more would shift the "
            "colour by 2.5 to 3.3 ΔE00 in 10 mL. So dilute first, as said below, or mix more."
        )
        found.append(Caution(key="few drops", text=text))
    return tuple(found)


def _parts(number: float) -> str:
    shown = f"{number:.0f}" if number >= 1000 else f"{number:.3g}"
    return "1 part" if shown == "1" else f"{shown} parts"
