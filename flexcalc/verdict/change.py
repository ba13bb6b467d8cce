"""Kinds of change by which a plan could be helped, the cheapest first: each a changed plan.

By the hand, by the print, by what is bought. Whether they help is for others to tell.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from flexcalc.build.channel import sized_limb
from flexcalc.build.corner import corner_piece
from flexcalc.build.kink import kink_cure_of
from flexcalc.joints.aims import leaves_plane
from flexcalc.limb.gauge import show_length
from flexcalc.limb.inputs import Limb, Setting, Wire
from flexcalc.limb.materials import elastomer_names, load_elastomer
from flexcalc.limb.printer import Printer, hole_constant
from flexcalc.limb.trade import trade_size, trade_sizes, wire_name
from flexcalc.pose.pose import check_bends
from flexcalc.verdict.corner_check import with_corner
from flexcalc.verdict.overbend import over_bend_setting
from flexcalc.verdict.plan import Wish
from flexcalc.verdict.verdict import Verdict

HOLDS = (30.0, 120.0, 600.0)
"""Times for which a hand can be asked to hold a pose. [s]"""
MORE_PLACES = (1, 2, 4)
MORE_PRESSES = (2, 3)
LIGHTER = (0.75, 0.5, 0.25)
SIZES_UP = 4
SOFTER = 2
LEAST_OVER = 1.01
SURE = 0.98
"""A check that is met with this probability needs no remedy."""


@dataclass(frozen=True, kw_only=True)
class Change:
    """A changed plan that was not looked at yet; ``key`` and ``title`` as of a Remedy."""

    key: str
    title: str
    limb: Limb
    setting: Setting


@dataclass(frozen=True, kw_only=True)
class AssessedPlan:
    """A plan that is to be helped or tested, with the verdict on it."""

    limb: Limb
    setting: Setting
    wish: Wish
    printer: Printer
    orientation: str
    verdict: Verdict

    def sized(self, limb: Limb) -> Limb:
        """Return a limb whose channel fits its wire as the plan's does: sized, or by as much."""
        if self.limb.wire is None or limb.wire is None:
            return limb
        own = sized_limb(self.limb, self.printer, self.orientation)
        if own.channel_diameter == self.limb.channel_diameter:
            return sized_limb(limb, self.printer, self.orientation)
        wider = limb.wire.bundle_diameter - self.limb.wire.bundle_diameter
        return replace(limb, channel_diameter=self.limb.channel_diameter + wider)


def admitted(
    kind: Callable[[AssessedPlan], Iterator[Change]], plan: AssessedPlan
) -> Iterator[Change]:
    """Yield the changes of a kind that the inputs admit."""
    changes = kind(plan)
    while True:
        try:
            change = next(changes)
            check_bends(change.limb, change.setting)
        except StopIteration:
            return
        except ValueError:
            # a generator that raised is at its end; one whose change was refused goes on
            continue
        yield change


def changed_limb(limb: Limb, name: str, value: object) -> Limb | None:
    """Return a limb with another value, None where it cannot have that."""
    try:
        return replace(limb, **{name: value})  # type: ignore[arg-type]
    except ValueError:
        return None


def _hold_longer(plan: AssessedPlan) -> Iterator[Change]:
    for seconds in HOLDS:
        if seconds > 1.5 * plan.setting.hold_time:
            words = f"{seconds:.0f} s" if seconds < 60 else f"{seconds / 60:.0f} min"
            yield Change(
                key="hold longer",
                title=f"Hold it for {words} before letting go",
                limb=plan.limb,
                setting=replace(plan.setting, hold_time=seconds),
            )


def _more_places(plan: AssessedPlan) -> Iterator[Change]:
    if plan.setting.bent_by != "hands":
        return
    for more in MORE_PLACES:
        places = plan.setting.places + more
        if places <= 20:
            yield Change(
                key="more places",
                title=f"Press each bend at {places} places",
                limb=plan.limb,
                setting=replace(plan.setting, places=places),
            )


def _press_again(plan: AssessedPlan) -> Iterator[Change]:
    for presses in MORE_PRESSES:
        if presses > plan.setting.presses:
            yield Change(
                key="press again",
                title=f"Press it into the pose {'twice' if presses == 2 else f'{presses} times'}, "
                f"{plan.setting.press_pause:.0f} s apart",
                limb=plan.limb,
                setting=replace(plan.setting, presses=presses),
            )


def _over_bend(plan: AssessedPlan) -> Iterator[Change]:
    setting = plan.setting
    if plan.limb.wire is None or any(bend.over_bend > 1 for bend in setting.bends):
        return
    overs = over_bend_setting(plan.limb, setting, printer=plan.printer, re_poses=plan.wish.re_poses)
    bends = [
        # as fine as it can be typed and bent
        replace(bend, over_bend=round(over.factor, 3))
        if over and over.factor > LEAST_OVER
        else bend
        for bend, over in zip(setting.bends, overs, strict=True)
    ]
    further = [bend for bend in bends if bend.over_bend > 1]
    if further:
        words = ", ".join(f"{math.degrees(abs(b.angle) * b.over_bend):.0f}°" for b in further)
        wanted = ", ".join(f"{math.degrees(abs(b.angle)):.0f}°" for b in further)
        yield Change(
            key="over-bend",
            title=f"Bend it to {words} for the {wanted} wanted",
            limb=plan.limb,
            setting=replace(setting, bends=tuple(bends)),
        )


def _former(plan: AssessedPlan) -> Iterator[Change]:
    if plan.setting.bent_by == "hands" and plan.setting.bends:
        yield Change(
            key="former",
            title="Bend it round a printed former",
            limb=plan.limb,
            setting=replace(plan.setting, bent_by="former"),
        )


def _anchor(plan: AssessedPlan) -> Iterator[Change]:
    limb = plan.limb
    if limb.wire is not None and not limb.wire_anchored and leaves_plane(limb, plan.setting):
        yield Change(
            key="anchor",
            title="Hold the wire's end against turning at the root",
            limb=replace(limb, wire_anchored=True),
            setting=plan.setting,
        )


def _lighter(plan: AssessedPlan) -> Iterator[Change]:
    for share in LIGHTER:
        if plan.setting.payload > 0:
            payload = float(f"{share * plan.setting.payload:.3g}")
            yield Change(
                key="lighter",
                title=f"Let the tip carry {payload * 1e3:.3g} g",
                limb=plan.limb,
                setting=replace(plan.setting, payload=payload),
            )


def _thinner_wall(plan: AssessedPlan) -> Iterator[Change]:
    limb, bead = plan.limb, plan.printer.bead_width
    if limb.wall is None:
        return
    least = hole_constant("least_wall_beads").value
    beads = math.ceil(limb.wall / bead - 1e-6) - 1
    while beads >= least:
        made = changed_limb(limb, "wall", float(f"{beads * bead:.6g}"))
        if made is not None:
            yield Change(
                key="thinner wall",
                title=f"Print the wall {show_length(beads * bead)} thick, {beads} beads",
                limb=made,
                setting=plan.setting,
            )
        beads -= 1


def _no_sleeve(plan: AssessedPlan) -> Iterator[Change]:
    made = changed_limb(plan.limb, "sleeve", 0.0)
    if plan.limb.sleeve > 0 and plan.limb.infill > 0 and made is not None:
        yield Change(
            key="no sleeve",
            title="Leave the sleeve around the channel away",
            limb=made,
            setting=plan.setting,
        )


def _against_kinks(plan: AssessedPlan) -> Iterator[Change]:
    likely, limb = plan.verdict.likely, plan.limb
    if likely.probability_unkinked >= SURE or limb.wall is None:
        return
    (kink,) = (check for check in plan.verdict.checks if check.key == "kink")
    cure = kink_cure_of(limb, kink.bound, printer=plan.printer)
    if cure is None:
        return
    bead = plan.printer.bead_width
    wall = math.ceil(cure.wall / bead - 1e-6) * bead
    for name, value, words in (
        ("wall", float(f"{wall:.6g}"), f"Print the wall {show_length(wall)} thick"),
        ("infill", math.ceil(100 * cure.infill) / 100, f"Print {cure.infill:.0%} infill"),
    ):
        made = changed_limb(limb, name, value) if value > getattr(limb, name) else None
        if made is not None:
            yield Change(key="against kinks", title=words, limb=made, setting=plan.setting)


def _softer(plan: AssessedPlan) -> Iterator[Change]:
    own = plan.limb.elastomer.elastic_modulus
    tabled = [load_elastomer(name) for name in elastomer_names()]
    softer = [one for one in tabled if one.elastic_modulus < 0.9 * own]
    for one in sorted(softer, key=lambda one: -one.elastic_modulus)[:SOFTER]:
        yield Change(
            key="softer filament",
            title=f"Print it in {one.name}",
            limb=replace(plan.limb, elastomer=one),
            setting=plan.setting,
        )


def _other_sizes(plan: AssessedPlan, sizes: Sequence[float], key: str) -> Iterator[Change]:
    wire = plan.limb.wire
    if wire is None:
        return
    for diameter in sizes:
        other = Wire(metal=wire.metal, diameter=diameter, strands=wire.strands)
        wide = max(plan.limb.channel_diameter, other.bundle_diameter)
        room = (
            plan.limb
            if plan.limb.wire_runs_in_bore
            else changed_limb(plan.limb, "channel_diameter", wide)
        )
        made = None if room is None else changed_limb(room, "wire", other)
        if made is not None:
            try:
                made = plan.sized(made)
            except ValueError:
                continue
            yield Change(key=key, title=f"Take {wire_name(other)}", limb=made, setting=plan.setting)


def _diameters(plan: AssessedPlan) -> tuple[list[float], list[float]]:
    """Return the usual sizes of the wire's own system: thinner and thicker, the nearest first."""
    wire = plan.limb.wire
    if wire is None:
        return [], []
    system = trade_size(wire).system
    usual = sorted(size.diameter for size in trade_sizes() if size.system == system)
    thinner = [size for size in usual if size < wire.diameter * 0.999]
    return thinner[::-1], [size for size in usual if size > wire.diameter * 1.001]


def _thicker_wire(plan: AssessedPlan) -> Iterator[Change]:
    yield from _other_sizes(plan, _diameters(plan)[1][:SIZES_UP], "thicker wire")


def _thinner_wire(plan: AssessedPlan) -> Iterator[Change]:
    if plan.verdict.likely.probability_life < SURE:
        yield from _other_sizes(plan, _diameters(plan)[0][:SIZES_UP], "thinner wire")


def _corner(plan: AssessedPlan) -> Iterator[Change]:
    if plan.limb.wire is None or plan.verdict.pose is None:
        return
    shares = plan.verdict.pose.retained_share
    bends = [n for n, bend in enumerate(plan.setting.bends) if bend.angle and not bend.rigid]
    for number in sorted(bends, key=lambda n: (-abs(plan.setting.bends[n].curvature), shares[n])):
        bend = plan.setting.bends[number]
        try:
            piece = corner_piece(
                plan.limb, bend, payload=plan.setting.payload, printer=plan.printer
            )
            made = with_corner(plan.setting, number, piece)
        except ValueError:
            continue
        title = f"Hold bend {number + 1} by a printed corner piece"
        yield Change(key="corner piece", title=title, limb=plan.limb, setting=made)


KINDS: tuple[Callable[[AssessedPlan], Iterator[Change]], ...] = (
    _hold_longer,
    _more_places,
    _press_again,
    _over_bend,
    _former,
    _anchor,
    _lighter,
    _thinner_wall,
    _no_sleeve,
    _against_kinks,
    _softer,
    _thicker_wire,
    _thinner_wire,
    _corner,
)
"""Kinds of change, the cheapest first: by the hand, by the print, by what is bought."""
FOR_STRANGERS = ((_thicker_wire, 3), (_thinner_wall, 2), (_softer, 1), (_lighter, 2))
"""What a stranger can change who has printed nothing yet, and how many of each are tried."""


def changes_for_strangers(plan: AssessedPlan) -> list[Change]:
    """Return changes of a plan that are worth a try with another spool or wire, mildest first."""
    found = [list(itertools.islice(admitted(kind, plan), most)) for kind, most in FOR_STRANGERS]
    return [change for row in itertools.zip_longest(*found) for change in row if change is not None]
