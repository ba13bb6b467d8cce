"""A tint's part of the build sheet, and the card that lies beside the jar."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from data.rules import Caution, check_kind, check_text, refuse
from data.sheet import Alert, Beside, Block, Colours, Grid, Listing, Part, Words, sheet_html
from tinting.colour.difference import delta_e
from tinting.colour.grid import check_array, check_lab
from tinting.colour.spectrum import hex_from_lab
from tinting.learn.band import Band, estimate_band
from tinting.learn.learned import MARK
from tinting.log.bottles import Bottle
from tinting.log.record import folded
from tinting.mix.appearance import look, under_lights
from tinting.mix.batch import COVERAGE, LOSS_FACTOR, volume_for_area
from tinting.mix.instructions import Mixing, batch_words, millilitres, mixing, ticked_steps
from tinting.mix.plan import TintPlan, plain, tint_plan_from
from tinting.recipe.steer import steer
from tinting.skin.demo import demo_cautions
from tinting.skin.inputs import Dye, retouch

LIFE = (
    "Expect fading in light, often blue-wool grade 3 to 5 (common practice): keep out of the sun, "
    "test by ISO 105-B02.",
    "Dye can rub off and can wander into pale neighbours: test rubbing by ISO 105-X12, keep white "
    "parts apart.",
    "A sealer borne in alcohol lifts the dye again: take a water-borne one, on a scrap first.",
    "Alcohol swells TPU for a short while: let it dry before bending the part.",
)
PROTECTION = "Gloves, eye protection, open window, no flame, heat gun or hot nozzle near."
NEAR_ONLY = "Squares on a screen or on paper are as near as these come; the numbers count."
BLANK = "______________"
WHEN = ("30 min dry", "Next day", "After a week", "Bent, outside of the bend", "Half kept covered")
"""When a tinted part is read again."""
MOST_READ = 5
ALIKE = 2.0
"""A difference that most take for a match. [dE]"""
BASIS = (
    "Model: a dyed skin over the part's own colour, which dye can only darken. Its accuracy is "
    "known from computed worlds alone, not from real parts: real parts will be worse.",
    NEAR_ONLY,
    "Assumed: the spectrum of a target or base known by one colour, the size of a drop unless it "
    f"was weighed, {COVERAGE * 1e4:.3g} mL per 100 cm2 and coat, times {LOSS_FACTOR:g} for losses.",
)


def bench_card(
    plan: TintPlan,
    *,
    band: Band | None = None,
    light: str = "D65",
    limb: str = "",
    bottles: Sequence[Bottle] = (),
    made_on: date | None = None,
) -> str:
    """Return one self-contained HTML page to print and lay beside the jar.

    Parameters
    ----------
    plan : TintPlan
        The tint.
    band : Band
        The band around the prediction; left out, that of dyes known by one colour each.
    light : str
        What the squares are looked at under.
    limb : str
        What is dyed; left out, there is a place to write it.
    bottles : sequence of Bottle
        The maker's; the lots of those in the mix are printed.
    made_on : date
        Left out, there is a place to write it.

    Raises
    ------
    ValueError
        For a batch smaller than a drop, or too small for its weakest dye.
    """
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    check_text("limb", limb, 80, empty=True)
    check_kind("made on", made_on, (date, type(None)), "a date, or None")
    check_kind("bottles", bottles, Sequence, "a list of bottles")
    for bottle in bottles:
        check_kind("each of the bottles", bottle, Bottle, "a Bottle")
    known = _band(plan, band)
    mixed = mixing(plan)
    used = _used(plan)
    told = (*demo_cautions(used), *mixed.cautions, *plan.result().cautions)
    day = f"{made_on:%Y-%m-%d}" if made_on else BLANK
    names = dict.fromkeys(dye.name for dye in used)
    what = Listing(
        items=(
            f"Date: {day}",
            f"Limb: {limb or BLANK}",
            f"Base: {plan.base.name}",
            *(_bottle_words(name, bottles) for name in names),
        )
    )
    colours, seen, *_ = _looks(plan, known, light)
    batch, drops = _batch(plan, mixed)
    steps = Listing(items=ticked_steps(plan, mixed), ordered=True, boxes=True)
    cautions: tuple[Block, ...] = (
        *(Alert(text=caution.text) for caution in mixed.air_and_fire),
        Listing(items=(PROTECTION, *(caution.text for caution in told), *LIFE, NEAR_ONLY)),
    )
    parts = (
        Part(title="What, of what", blocks=(Beside(groups=((what,), (colours,))), seen)),
        Part(
            title="Mixing, coats and readings",
            blocks=(batch, Beside(groups=((drops, _readings(plan, known)), (steps,)))),
        ),
        Part(title="Cautions", blocks=cautions),
    )
    return sheet_html(f"Bench card: {plan.name}", parts)


def _bottle_words(name: str, bottles: Sequence[Bottle]) -> str:
    """A dye with what the shelf says of its bottle."""
    plain_name = folded(name.removesuffix(MARK))
    found = next((each for each in bottles if folded(each.name) == plain_name), None)
    if found is None:
        return f"{name}: lot {BLANK}"
    return f"{name}: lot {found.lot or BLANK}" + (f"; {found.note}" if found.note else "")


def _band(plan: TintPlan, band: Band | None) -> Band | None:
    """The band around a plan's prediction: the one given, or that of estimates; None undyed."""
    if band is not None:
        check_kind("band", band, Band, "a Band, or None")
        return band
    dyed = any(share > 0 for _, share in plan.mix)
    return estimate_band(plan.result()) if dyed else None


def _readings(plan: TintPlan, band: Band | None) -> Block:
    """Places for what the part reads, beside what is expected after each coat and at the end."""
    shown = [(n, replace(plan, coats=n).result().lab()) for n in range(1, plan.coats + 1)]
    rows = [(f"After coat {n}, dry", lab_words(lab), BLANK) for n, lab in shown[-MOST_READ:-1]]
    last = lab_words(plan.result().lab())
    within = "" if band is None else f", 80 % band {band.radius:.1f} ΔE00"
    rows += [(when, f"{last}{within}" if not place else "", BLANK)
             for place, when in enumerate(WHEN)]  # fmt: skip
    return Grid(
        caption="Read beside the bare part, in the same light",
        head=("When", "Expected", "Reads L* a* b*"),
        rows=tuple(rows),
    )


def tint_parts(kept: Mapping[str, Any]) -> tuple[Part, ...]:
    """Return the parts of the build sheet for a design's tint, see `tinting.mix.plan.plain`."""
    plan = tint_plan_from(kept)
    name = f"{plan.name[:1].upper()}{plan.name[1:]}"
    return tuple(
        Part(title=f"{name}: {part.title}", blocks=part.blocks, new_page=not number)
        for number, part in enumerate(plan_parts(plan))
    )


def tint_for_area(kept: Mapping[str, Any], area: float) -> dict[str, Any]:
    """Return a design's tint for a surface [m2], its batch in whole mL where it was too small."""
    plan = tint_plan_from(kept)
    batch = plan.batch_volume
    if plan.coats:
        batch = max(batch, math.ceil(volume_for_area(area, plan.coats) * 1e6 - 1e-9) / 1e6)
    return plain(replace(plan, area=area, batch_volume=batch))


def tint_retouch(kept: Mapping[str, Any], lab: object) -> tuple[str, ...]:
    """Return `retouch_words` for a design's tint."""
    return retouch_words(tint_plan_from(kept), lab)


def retouch_words(plan: TintPlan, lab: object) -> tuple[str, ...]:
    """Return how to bring a part that reads ``lab`` (3,) today back to a tint, in sentences.

    The part as it is now is a base of its own; the mix is that of the tint, changed by drops
    where that comes nearer. ValueError for a colour that no such part can have.
    """
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    now = retouch(plan.base, lab)
    goal = plan.target
    away = float(delta_e(check_lab("lab", lab), goal))
    found = steer(
        now,
        plan.mix,
        0,
        None,
        goal,
        batch_volume=plan.batch_volume,
        drop_volume=plan.drop_volume,
    )
    reads = f"It reads CIELAB {lab_words(lab)}, {away:.1f} ΔE00 from the target."
    return (reads, found.text, *(caution.text for caution in found.cautions))


def tint_volumes(kept: Mapping[str, Any]) -> dict[str, float]:
    """Return what a design's tint takes of each liquid by name [m3], alcohol last.

    A dye counted out of a dilution is named with it.
    """
    volumes: dict[str, float] = {}
    for line in mixing(tint_plan_from(kept)).lines:
        volumes[line.name] = volumes.get(line.name, 0.0) + line.volume
    return volumes


def tint_words(kept: Mapping[str, Any]) -> str:
    """Return the tint of a design in one sentence, see `tinting.mix.plan.plain`."""
    return plan_words(tint_plan_from(kept))


def plan_words(plan: TintPlan) -> str:
    """Return a tint in one sentence."""
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    result = plan.result()
    coats = "1 coat" if plan.coats == 1 else f"{plan.coats} coats"
    return (
        f"{plan.name}: {mixing(plan).parts}, {coats} on {plan.base.name}, gives "
        f"{result.hex} (CIELAB {lab_words(result.lab())})."
        + "".join(f" {caution.text}" for caution in demo_cautions(_used(plan)))
    )


def _used(plan: TintPlan) -> list[Dye]:
    return [dye for dye, share in plan.mix if share > 0]


def lab_words(lab: object) -> str:
    """Return CIELAB (3,) as it is read, "62.0 -16.0 28.0"."""
    values = check_array("lab", lab, 3, least=-1000.0, most=1000.0)
    if values.shape != (3,):
        raise refuse("lab", "three numbers L*, a*, b*", f"shape {values.shape}")
    # adding 0 keeps "-0.0" from being printed
    return " ".join(f"{round(float(value), 1) + 0.0:.1f}" for value in values)


def plan_parts(plan: TintPlan, *, band: Band | None = None, light: str = "D65") -> tuple[Part, ...]:
    """Return the parts of a sheet for a tint; arguments as for `bench_card`."""
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    known = _band(plan, band)
    mixed = mixing(plan)
    used = _used(plan)
    told = (*demo_cautions(used), *plan.result().cautions)
    alerts = tuple(Alert(text=caution.text) for caution in told)
    made = (
        ("what it will look like", (*_looks(plan, known, light), *alerts)),
        (
            "mixing and brushing",
            (
                *(Alert(text=caution.text) for caution in (*mixed.air_and_fire, *mixed.cautions)),
                *_batch(plan, mixed),
                Listing(items=mixed.steps, ordered=True),
            ),
        ),
        ("life and care", (Listing(items=LIFE),)),
        ("measured and assumed", (Listing(items=BASIS),)),
    )
    return tuple(Part(title=title, blocks=blocks) for title, blocks in made)


def _looks(plan: TintPlan, band: Band | None, light: str) -> tuple[Block, ...]:
    result = plan.result()
    seen = [look(f"base {plan.base.name}", plan.base.reflectance, light)]
    seen.append(look(f"tint, coats: {plan.coats}", result.reflectance, light))
    squares = [(each.name, each.hex, f"CIELAB {lab_words(each.lab)}") for each in seen]
    try:
        rows = under_lights(plan, tuple(dict.fromkeys((light, "D65", *plan.lights))))
    except ValueError:
        # no real surface has this target, so no light but D65 can be said of it
        return (
            Colours(squares=(*squares, _unreal(plan))),
            Words(text="No real surface has the target's colour."),
        )
    target = rows[0].target
    squares.append(("target", target.hex, f"CIELAB {lab_words(target.lab)}"))
    doubt = (
        ""
        if band is None
        else (
            f"{band.within(ALIKE, plan.target):.0%} likely to match the target within "
            f"{ALIKE:g} ΔE00. 80 % band: {band.radius:.1f} ΔE00 around the tint shown. "
        )
    )
    every = Grid(
        caption="The middle of the tint against the target",
        head=("Light", "Tint CIELAB", "ΔE00"),
        rows=tuple((row.light, lab_words(row.tint.lab), f"{row.difference:.1f}") for row in rows),
    )
    return (
        Colours(squares=tuple(squares)),
        Words(text=f"Seen under {light}. {doubt}{_estimate(result.cautions)}"),
        every,
    )  # fmt: skip


def _unreal(plan: TintPlan) -> tuple[str, str, str]:
    return "target", hex_from_lab(plan.target), f"CIELAB {lab_words(plan.target)}"


def _estimate(cautions: tuple[Caution, ...]) -> str:
    return "An estimate, see below. " if any(each.key == "estimate" for each in cautions) else ""


def _batch(plan: TintPlan, mixed: Mixing) -> tuple[Block, ...]:
    return (
        Words(
            text=f"{mixed.parts}. Batch {millilitres(plan.batch_volume)}; "
            f"{batch_words(plan, mixed) or 'no coat is laid on.'}"
        ),
        Grid(
            caption=f"What goes in, with drops of {plan.drop_volume * 1e6:.3g} mL",
            head=("Liquid", "Drops", "mL", "g"),
            rows=tuple(
                (line.name, str(line.drops), f"{line.volume * 1e6:.2f}", f"{line.mass * 1e3:.2f}")
                for line in mixed.lines
            ),
        ),
    )
