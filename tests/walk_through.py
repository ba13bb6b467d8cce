"""The README's walk through the demo, with every number computed where it is written.

`python -m tests.scripts.readme` puts it into the README; a test holds the README equal to it.
"""

from __future__ import annotations

import re
import textwrap
from dataclasses import replace
from typing import Any

from flexcalc import Droop, RoundedRectangle, over_bend_setting, size_channel, updated
from flexcalc.forms.limb_form import DEFAULTS, plan_from_form
from flexcalc.limb.own_materials import find_elastomer
from flexcalc.paper.answers import likely_poses, verdict_on
from flexcalc.verdict.verdict import Verdict
from tests.tinting.real_paint import alone, mixtures, read_paints
from tinting.colour.difference import delta_e
from tinting.forms.tint import DEFAULTS as TINT
from tinting.forms.tint import plan_from_form as tint_from_form
from tinting.mix.vapour import LONG_LIMIT_PPM, vapour_ppm
from tinting.recipe.search import find_recipes
from tinting.skin.demo import demo_dyes

INTRODUCTION = """The demo is ours and invented: the neck of a marsh heron for a wetland diorama,
with a resin fish of {payload} g in its beak. It is a {length} mm limb of {elastomer}, round
{diameter} mm with a flat cut {flat} mm high so that it prints lying, wall {wall} mm and {infill} %
infill, with a roofed channel for {wire} mm annealed steel wire, bent by hand {angle1}° up at R
{radius1} and {down}° down at R {radius2}."""
STEPS = (
    """*Start* shows the neck and what to do next. *Limb* says: **it holds {share} % of the bend**,
    the tip sags {sag} mm, it kinks below R {kink} mm ({kink_low} to {kink_high} mm), and the wire
    takes {life_low} to {life_high} re-poses. Four of five such necks keep {low} to {high}; the
    chance of {wanted} % of the bend, {sag_limit} mm of sag, no kink and {re_poses} re-poses, all
    together, is {chance}.""",
    """It says what to measure. {next_one}
    A droop strip 12 × 2 mm of the filament, clamped so that 100 mm of it stand out level (*Bench*),
    that has dropped 36 mm after 60 s has E = {modulus} MPa. With that the same neck keeps
    {drooped_low} to {drooped_high}, and the chance is {drooped_chance}.""",
    """{pressed} 3 mm annealed aluminium keeps {al_low} to {al_high}, with a chance of {al_chance};
    a wall of 1.2 mm would kink at R {thin_kink}. Bend further, to R {over1} and R {over2}, and R
    {radius1} and R {radius2} are left.""",
    """The channel: {wire} mm wire, {tolerance} mm tolerance, {clearance} mm of clearance,
    {shrinkage} mm of shrinkage, so **draw {draw} mm** ({draw_low} to {draw_high}), and print the
    strip of seven holes first.""",
    """*Tint* lays {dye} over the off-white: 1 part dye and {alcohol} parts alcohol, two coats,
    becomes {hex}. The reed colour wanted is {away} ΔE00 away; {recipe} in {batch} mL, {coats},
    come within {within} in daylight and lamp light, but with dyes known by one colour and a hand
    not yet measured the chance of a match within 2 is only {match}: one swatch leaves open how a
    dye builds up, and hands lay on more or less; a strip of three fields tells yours.
    On measured watercolour, from CIELAB, one swatch misses other amounts by {paint1} ΔE00
    ({tail1} at worst), three by {paint3} ({tail3}) and six by {paint6} ({tail6}); mixtures by
    {mixed1}, {mixed3} and {mixed6}.""",
    """Ten millilitres of alcohol evaporated in a closed {room} m³ room are {ppm} ppm, of the
    {limit} ppm that are the 8-hour limit: open the window.""",
    """*Figure* keeps neck, legs and tint in your folder, and as one file; it says whether the heron
    stands and when a wire is due, and prints the sheet with a card at 1:1 to bend each limb on.
    Without the page,
    `.venv/bin/limb-tint check heron.json` prints the verdicts and the wire table (with `--windows`
    also which readings at the bench say that a limb holds with another spool and wire),
    `.venv/bin/limb-tint sheet heron.json sheet.html` writes the sheet, and `export` and `import`
    keep and bring back what you have measured.""",
)


SENTENCE = re.compile(
    r"Holds (?P<share>\d+)% of the bend; the tip sags (?P<sag>[\d.]+) mm; kinks below "
    r"R (?P<kink>[\d.]+) mm \((?P<kink_low>[\d.]+) mm to (?P<kink_high>[\d.]+) mm\); "
    r"re-poses (?P<life_low>\d+) to (?P<life_high>\d+) times\."
)


def walk_through() -> str:
    """Return the walk as Markdown, lines of at most 100 signs."""
    found = {**_limb_numbers(), **_tint_numbers(), **_paint_numbers()}
    lines = [*_wrapped(INTRODUCTION.format(**found), "", ""), ""]
    for number, step in enumerate(STEPS, start=1):
        lines += _wrapped(step.format(**found), f"{number}. ", "   ")
    return "\n".join(lines) + "\n"


def _wrapped(words: str, first: str, rest: str) -> list[str]:
    # a number and its per cent stay together
    joined = " ".join(words.split()).replace(" %", "\u00a0%")
    lines = textwrap.wrap(
        joined, 100, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    )
    return [line.replace("\u00a0", " ") for line in lines]


def _limb_numbers() -> dict[str, Any]:
    plan = plan_from_form({})
    verdict = verdict_on(plan)
    size = size_channel(plan.limb.wire.diameter, "lying") if plan.limb.wire else None
    if verdict.pose is None or size is None:
        raise RuntimeError("the demo hangs slack, or has no wire")
    flat = RoundedRectangle(width=0.012, height=0.002, corner_radius=0.0)
    strip = Droop(length=0.1, drop=0.036, outline=flat, time=60.0)
    softer = updated(find_elastomer(DEFAULTS["elastomer"]), strip)
    drooped = likely_poses(plan, limb=replace(plan.limb, elastomer=softer))
    aluminium = verdict_on(plan_from_form({"metal": "annealed aluminium 1100", "wire": "3"})).likely
    over = [1e3 / abs(each.set_curvature) for each in over_bend_setting(plan.limb, plan.setting)]
    likely, said = verdict.likely, SENTENCE.match(verdict.sentence)
    if said is None:
        raise RuntimeError(f"the verdict is worded anew: {verdict.sentence}")
    return {
        **DEFAULTS,
        "down": DEFAULTS["angle2"].lstrip("-"),
        **said.groupdict(),
        "low": _percent(likely.worst_share.low),
        "high": _percent(likely.worst_share.high),
        "chance": _percent(likely.probability),
        "wanted": DEFAULTS["share"],
        "sag_limit": DEFAULTS["sag"],
        "next_one": likely.measure_next,
        "modulus": f"{softer.elastic_modulus / 1e6:.0f}",
        "drooped_low": _percent(drooped.worst_share.low),
        "drooped_high": _percent(drooped.worst_share.high),
        "drooped_chance": _percent(drooped.probability),
        "pressed": _pressed(verdict_on(plan_from_form({"places": "1"}))),
        "al_low": _percent(aluminium.worst_share.low),
        "al_high": _percent(aluminium.worst_share.high),
        "al_chance": _percent(aluminium.probability),
        "thin_kink": f"{verdict_on(plan_from_form({'wall': '1.2'})).kink.radius * 1e3:.0f}",
        "over1": f"{over[0]:.0f}",
        "over2": f"{over[1]:.0f}",
        "tolerance": f"{size.wire_tolerance * 1e3:.2f}",
        "clearance": f"{size.clearance * 1e3:.2f}",
        "shrinkage": f"{size.shrinkage * 1e3:.2f}",
        "draw": f"{size.draw_diameter * 1e3:.2f}",
        "draw_low": f"{size.draw_low * 1e3:.2f}",
        "draw_high": f"{size.draw_high * 1e3:.2f}",
    }


def _pressed(verdict: Verdict) -> str:
    states = {check.key: check.state for check in verdict.checks}
    if states["kink"] == "fails":
        return "Pressed at one place only, the neck would kink where the thumb is."
    return "Pressed at one place only, the neck would not kink either."


def _tint_numbers() -> dict[str, Any]:
    dyes = demo_dyes()
    plan = tint_from_form(TINT, dyes)
    made = plan.result()
    best = find_recipes(
        plan.base, dyes, plan.target, lights=plan.lights, batch_volume=plan.batch_volume,
        drop_volume=plan.drop_volume, hand=plan.hand,
    ).recipes[0]  # fmt: skip
    return {
        "dye": TINT["dye1"],
        "alcohol": TINT["alcohol"],
        "hex": made.hex,
        "away": f"{float(delta_e(made.lab(), plan.target)):.1f}",
        "recipe": " and ".join(f"{drops} drops of {name}" for name, drops in best.drops.items()),
        "batch": TINT["batch"],
        "coats": "one coat" if best.coats == 1 else f"{best.coats} coats",
        "within": f"{best.worst:.1f}",
        "match": _percent(best.probability),
        "room": TINT["room"],
        "ppm": f"{vapour_ppm(1e-5, float(TINT['room'])):.0f}",
        "limit": f"{LONG_LIMIT_PPM:.0f}",
    }


def _paint_numbers() -> dict[str, str]:
    paints = read_paints()
    found = {}
    for count in (1, 3, 6):
        score = alone(paints, count, spectra=False)
        found[f"paint{count}"], found[f"tail{count}"] = f"{score.median:.1f}", f"{score.tail:.1f}"
        found[f"mixed{count}"] = f"{mixtures(paints, count, spectra=False).median:.1f}"
    return found


def _percent(share: float) -> str:
    return f"{share * 100:.0f} %"
