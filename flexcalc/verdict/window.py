"""Which readings at the bench say that a plan will hold: for strangers with other spools and wires.

The inverse of the band. Each likely limb would read something in each test; a window is where
those that read alike hold with the probability wanted. A stranger who reads outside changes the
plan as is said there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from data import read_table
from data.rules import Array, check_choice, check_number, refuse
from flexcalc.bench.droop import drop_shares
from flexcalc.bench.readings import MOST_DROP, bench_constant
from flexcalc.build.channel import ChannelSize, size_channel
from flexcalc.build.kink import bending_thickness
from flexcalc.build.solids import STRIP
from flexcalc.joints.limbs import in_the_room
from flexcalc.limb.gauge import show_length
from flexcalc.limb.inputs import GRAVITY, Limb, Setting
from flexcalc.limb.printer import ORIENTATIONS, Printer
from flexcalc.rod.chain import Mask
from flexcalc.spread.likely_limbs import drawn_bundle, drawn_stiffness
from flexcalc.spread.likely_limits import kink_radii
from flexcalc.spread.sample import PoseSample
from flexcalc.verdict.change import AssessedPlan, Change, changes_for_strangers
from flexcalc.verdict.plan import Wish
from flexcalc.verdict.verdict import SEED, assess, likely_limbs
from flexcalc.wire.bundle import loading_moment

SAMPLES, FEWER = 1024, 512
"""Likely limbs that are read, and those of every change of the plan."""
TURNS = 2
"""Times that the wire is wound round the mandrel."""
LEAST_SURE, MOST_SURE = 0.05, 0.99
"""Probabilities that can be asked for."""
GRID = 121
SMOOTH = 0.2
"""Least width over which readings count as alike, as a share of their spread."""
ROUNDS = 2
LAST = "bent limb"
"""The test of the finished limb, which comes after the others."""
EDGE = 0.03
"""Share of the readings at either end that are too few to tell."""
WORTH = 0.02
FEW = 8
PINS_APART = 1e-4


@dataclass(frozen=True, kw_only=True)
class Window:
    """One bench test and the readings with which the limb holds.

    ``key`` is "droop", "spring-back", "pins", "kink" or "bent limb"; ``test`` says what to do.
    ``size`` [m] is the length of the strip, the diameter of the mandrel or of the hole as drawn, or
    the radius of the bend; ``turned`` [rad] the angle by which the wire is wound or the limb bent,
    0 in other tests. Readings from ``low`` to ``high`` do, in ``unit`` "m" or "rad" (the angle
    that springs back or is kept); -inf and inf where that side is open, ``low`` above ``high``
    where no reading does. Nearly all limbs read ``usual``, least and greatest: an open side says
    no more than that. ``below`` and ``above`` say what to
    change for readings outside (empty where that side is open), ``changed_below`` and
    ``changed_above`` are the changed limbs with their settings, None where none was found.
    ``passing`` is the share of the likely limbs that read inside, and ``sentence`` says it all.
    """

    key: str
    test: str
    size: float
    turned: float
    unit: str
    low: float
    high: float
    usual: tuple[float, float]
    below: str
    above: str
    changed_below: tuple[Limb, Setting] | None = field(repr=False)
    changed_above: tuple[Limb, Setting] | None = field(repr=False)
    passing: float
    sentence: str

    def __str__(self) -> str:
        return self.sentence


@dataclass(frozen=True, kw_only=True)
class Windows:
    """The windows of a plan and what they are worth to a stranger.

    ``probability`` is the one wanted; ``without`` that a stranger's limb holds and its wire goes
    in, built as planned without a test, ``inside`` the same for one whose readings all lie inside,
    ``passing`` the share of strangers for whom they do, and ``with_tests`` the chance of a stranger
    who tests and changes the plan as is said.
    """

    windows: tuple[Window, ...]
    probability: float
    without: float
    inside: float
    passing: float
    with_tests: float
    sentence: str

    def __str__(self) -> str:
        return "\n".join([self.sentence, *(window.sentence for window in self.windows)])


@dataclass(frozen=True, kw_only=True)
class _Test:
    """A test in the likely limbs: what each would read, ``error`` included in ``read`` (n,)."""

    key: str
    test: str
    size: float
    unit: str
    read: Array
    error: Array
    turned: float = 0.0


def windows(
    limb: Limb,
    setting: Setting,
    probability: float = 0.8,
    *,
    wish: Wish | None = None,
    printer: Printer | None = None,
    orientation: str = "lying",
) -> Windows:
    """Return for each bench test the range of readings for which a limb holds.

    Parameters
    ----------
    limb, setting : Limb, Setting
        The plan as strangers get it.
    probability : float
        With which it is to hold as wished for every reading inside, 0.05 to 0.99.
    wish : Wish, optional
        What counts as holding, as for `assess`.
    printer, orientation
        As for `assess`.

    Returns
    -------
    Windows

    Raises
    ------
    ValueError
        As `assess`, and for a limb without a wire.

    Notes
    -----
    1024 likely limbs, each with a reading of every test, its error in it. The window of a test
    are the readings at which those that read alike, and inside the windows before, hold with the
    probability wanted; twice over all tests, so that each counts on the others.
    """
    wanted = check_number("probability", probability, least=LEAST_SURE, most=MOST_SURE)
    wish = Wish() if wish is None else wish
    printer = Printer() if printer is None else printer
    check_choice("orientation", orientation, ORIENTATIONS)
    verdict = assess(
        limb, setting, wish=wish, printer=printer, orientation=orientation, whole=False
    )
    if limb.wire is None:
        raise refuse("limb wire", "given: bench tests tell of limbs that hold", "none")
    asked = AssessedPlan(
        limb=limb, setting=setting, wish=replace(wish, probability=wanted), printer=printer,
        orientation=orientation, verdict=verdict,
    )  # fmt: skip
    likely = _likely(asked, limb, setting, SAMPLES)
    fits, pins = _pins(asked)
    tests = _tests(asked, likely)
    holds = np.asarray(likely.met.all(axis=1), dtype=bool)
    spans = _spans(tests, holds, wanted)
    inside = _inside(tests, spans)
    after, told = _changed(asked, tests, spans, holds)
    passing = np.all([mask for key, mask in inside.items() if key != LAST], axis=0)
    found = [
        _window(test, spans[test.key], float(inside[test.key].mean()), told[test.key])
        for test in tests
    ] + pins
    return _summed_up(found, wanted, fits, holds, passing, after)


def _likely(asked: AssessedPlan, limb: Limb, setting: Setting, samples: int) -> PoseSample:
    return likely_limbs(limb, setting, asked.wish, asked.printer, samples)


def _summed_up(
    found: Sequence[Window], wanted: float, fits: float, holds: Mask, passing: Mask, after: Mask
) -> Windows:
    without = fits * float(holds.mean())
    inside = float(holds[passing].mean()) if passing.any() else 0.0
    # whose hole the pins refuse draws it anew
    tested = np.where(passing, holds, after)[:FEWER]
    with_tests = float(tested.mean())
    sentence = (
        f"Built as planned without a test it holds, and its wire goes in, with a probability of "
        f"{without:.0%}. {float(passing.mean()) * fits:.0%} of strangers read inside all windows, "
        f"and theirs holds with {inside:.0%}; whoever tests and changes the plan as is said has a "
        f"chance of {with_tests:.0%}."
    )
    return Windows(
        windows=tuple(found),
        probability=wanted,
        without=without,
        inside=inside,
        passing=float(passing.mean()) * fits,
        with_tests=with_tests,
        sentence=sentence,
    )


def _tests(asked: AssessedPlan, likely: PoseSample) -> list[_Test]:
    """Return the tests of filament, wire, print and finished limb, in the order of their cost."""
    draw = np.random.default_rng(SEED)
    found = [_droop(asked, likely, draw), _spring_back(asked, likely, draw)]
    if likely.probability_unkinked < 1 - WORTH:
        found.append(_kinked(asked, likely, draw))
    bent = _bent_limb(asked, likely, draw)
    return [*found, bent] if bent is not None else found


def _droop(asked: AssessedPlan, likely: PoseSample, draw: np.random.Generator) -> _Test:
    elastomer = in_the_room(asked.limb, asked.setting).elastomer
    modulus = elastomer.elastic_modulus * drawn_stiffness(asked.setting, likely.inputs)[0]
    length, thickness = STRIP[0], STRIP[2]
    number = 12 * elastomer.density * GRAVITY * length**3 / (modulus * thickness**2)
    drop = length * drop_shares(number)
    error = math.hypot(bench_constant("droop_error"), 2 * bench_constant("thickness_error"))
    read = drop * np.exp(error * draw.normal(size=len(drop)))
    return _Test(
        key="droop",
        test=f"A strip {show_length(length)} long and {show_length(thickness)} thick, clamped "
        "level, its tip read after ten seconds",
        size=length,
        unit="m",
        read=np.minimum(read, MOST_DROP * length),
        error=error * drop,
    )


def _spring_back(asked: AssessedPlan, likely: PoseSample, draw: np.random.Generator) -> _Test:
    wire = asked.limb.wire
    assert wire is not None  # asked before
    bundle = drawn_bundle(replace(wire, strands=1), likely.inputs)
    tightest = max((bend.radius for bend in asked.setting.bends), default=0.04)
    mandrel = max(round(2 * tightest, 2), 10 * wire.diameter)
    curvature = 2 / (mandrel + 2 * bundle.radius)
    moment = loading_moment(bundle, curvature)[0]
    wound = TURNS * 2 * math.pi
    sprung = wound * moment / (bundle.rigidity * curvature)
    error = bench_constant("angle_error")
    return _Test(
        key="spring-back",
        test=f"The wire wound {TURNS} times round a mandrel of {show_length(mandrel)} and let go, "
        "the angle that it springs back",
        size=mandrel,
        turned=wound,
        unit="rad",
        read=sprung + error * draw.normal(size=len(sprung)),
        error=np.full(len(sprung), error),
    )


def _kinked(asked: AssessedPlan, likely: PoseSample, draw: np.random.Generator) -> _Test:
    radii = kink_radii(asked.verdict.kink, likely.samples, SEED)
    error = bench_constant("kink_error")
    read = 2 * radii * np.exp(error * draw.normal(size=len(radii)))
    return _Test(
        key="kink",
        test="The printed limb bent round ever thinner mandrels, the diameter at which it kinks",
        size=2 * asked.verdict.kink.radius,
        unit="m",
        read=np.maximum(read - bending_thickness(asked.limb), 0.0),
        error=2 * error * radii,
    )


def _bent_limb(asked: AssessedPlan, likely: PoseSample, draw: np.random.Generator) -> _Test | None:
    own = [n for n, bend in enumerate(asked.setting.bends) if bend.angle and not bend.rigid]
    if not own:
        return None
    worst = min(own, key=lambda number: likely.retained_share[number].median)
    bend = asked.setting.bends[worst]
    angle = abs(bend.angle)
    error = bench_constant("pose_error")
    kept = likely.retained[:, worst] * angle
    return _Test(
        key=LAST,
        test=f"The finished limb bent by {math.degrees(angle):.0f}° in bend {worst + 1} and let "
        "go, the angle that it keeps",
        size=bend.radius,
        turned=angle,
        unit="rad",
        read=kept + error * draw.normal(size=len(kept)),
        error=np.full(len(kept), error),
    )


Span = tuple[float, float]
"""Least and greatest reading of a window; an open side is infinite."""


def _spans(tests: Sequence[_Test], holds: Mask, wanted: float) -> dict[str, Span]:
    """Return the windows, each for limbs inside those of all others so far."""
    spans: dict[str, Span] = {test.key: (-math.inf, math.inf) for test in tests}
    for _ in range(ROUNDS):
        for test in tests:
            # the finished limb counts on what was read before, not the other way round
            others = {k: span for k, span in spans.items() if k not in (test.key, LAST)}
            within = _inside([one for one in tests if one.key in others], others)
            among = np.all(list(within.values()), axis=0) if within else np.ones_like(holds)
            spans[test.key] = _span(test, holds, among, wanted)
    return spans


def _span(test: _Test, holds: Mask, among: Mask, wanted: float) -> Span:
    """Return the readings at which limbs that read alike hold often enough."""
    if among.sum() < FEW:
        return (-math.inf, math.inf)
    read, met = test.read[among], holds[among].astype(np.float64)
    grid = np.linspace(*_usual(test), GRID)
    width = max(float(np.median(test.error)), SMOOTH * float(np.std(test.read)), 1e-12)
    weight = np.exp(-0.5 * ((grid[:, None] - read) / width) ** 2)
    chance = weight @ met / np.maximum(weight.sum(axis=1), 1e-12)
    good = chance >= wanted
    if not good.any():
        return (math.inf, -math.inf)
    best = int(np.argmax(chance))
    bad = np.flatnonzero(~good)
    low, high = bad[bad < best], bad[bad > best]
    return (
        float(grid[low[-1] + 1]) if low.size else -math.inf,
        float(grid[high[0] - 1]) if high.size else math.inf,
    )


def _usual(test: _Test) -> tuple[float, float]:
    """Return the least and the greatest reading that are not too rare to tell."""
    least, greatest = np.quantile(test.read, (EDGE, 1 - EDGE))
    return float(least), float(greatest)


def _inside(tests: Sequence[_Test], spans: dict[str, Span]) -> dict[str, Mask]:
    return {
        test.key: (test.read >= spans[test.key][0]) & (test.read <= spans[test.key][1])
        for test in tests
    }


Told = tuple[tuple[str, tuple[Limb, Setting] | None], tuple[str, tuple[Limb, Setting] | None]]
"""What to change below and above a window."""


def _changed(
    asked: AssessedPlan, tests: Sequence[_Test], spans: dict[str, Span], holds: Mask
) -> tuple[Mask, dict[str, Told]]:
    """Return who holds after changing the plan as is said, and what is said of every test.

    Every stranger does what the first test that he reads outside of says.
    """
    tried: list[tuple[Change, Mask]] = []
    changes = changes_for_strangers(asked)
    after, told = holds.copy(), {}
    left = np.ones_like(holds)
    for test in tests:
        low, high = spans[test.key]
        sides: list[tuple[str, tuple[Limb, Setting] | None]] = []
        for outside in (test.read < low, test.read > high):
            mine = outside[:FEWER] & left[:FEWER]
            change, then = _best(asked, changes, tried, mine, holds)
            if test.key != LAST:
                after[:FEWER][mine] = then[:FEWER][mine]
                left &= ~outside
            words = change.title if change is not None else ""
            made = (change.limb, change.setting) if change is not None else None
            sides.append((words if outside.any() else "", made))
        told[test.key] = (sides[0], sides[1])
    return after, told


def _best(
    asked: AssessedPlan,
    changes: list[Change],
    tried: list[tuple[Change, Mask]],
    rows: Mask,
    holds: Mask,
) -> tuple[Change | None, Mask]:
    """Return the cheapest change with which limbs of these rows hold as wanted, or the best."""
    if rows.sum() < FEW:
        return None, holds
    now = float(holds[:FEWER][rows].mean())
    best: tuple[float, Change | None, Mask] = (now + WORTH, None, holds)
    for number in range(len(changes)):
        if number == len(tried):
            change = changes[number]
            met = _likely(asked, change.limb, change.setting, FEWER).met
            tried.append((change, np.asarray(met.all(axis=1), dtype=bool)))
        change, met = tried[number]
        chance = float(met[rows].mean())
        if chance > best[0]:
            best = (chance, change, met)
        if chance >= asked.wish.probability:
            break
    return best[1], best[2]


def _window(test: _Test, span: Span, passing: float, told: Told) -> Window:
    (below, changed_below), (above, changed_above) = told
    low, high = span
    usual = _usual(test)
    if low > high:
        said = "no reading makes this plan hold"
    elif math.isinf(low) and math.isinf(high):
        said = f"any usual reading does, {_shown(test, usual[0])} to {_shown(test, usual[1])}"
    elif math.isinf(high):
        said = f"at least {_shown(test, low)}"
    elif math.isinf(low):
        said = f"at most {_shown(test, high)}"
    else:
        said = f"{_shown(test, low)} to {_shown(test, high)}"
    sentence = f"{test.test}: {said}."
    for side, words in (("less", below), ("more", above)):
        if words:
            sentence += f" If it is {side}: {words[0].lower()}{words[1:]}."
    return Window(
        key=test.key,
        test=test.test,
        size=test.size,
        turned=test.turned,
        unit=test.unit,
        low=low,
        high=high,
        usual=usual,
        below=below,
        above=above,
        changed_below=changed_below,
        changed_above=changed_above,
        passing=passing,
        sentence=sentence,
    )


def _shown(test: _Test, value: float) -> str:
    if test.unit == "m":
        return f"{value * 1e3:.1f} mm"
    share = f" ({value / test.turned:.0%} of it)" if test.key == LAST else ""
    return f"{math.degrees(value):.0f}°{share}"


def _pins(asked: AssessedPlan) -> tuple[float, list[Window]]:
    """Return how likely the wire goes in and does not lie slack, and the window of the pins."""
    limb = asked.limb
    if limb.wire is None or limb.wire_runs_in_bore:
        return 1.0, []
    size = size_channel(limb.wire.bundle_diameter, asked.orientation, printer=asked.printer)
    wire = limb.wire.bundle_diameter
    loosest = read_table("constants")["channel clearance"]["loosest"].high
    least = math.ceil(wire * (1 + asked.printer.wire_tolerance) / PINS_APART) * PINS_APART
    spread = asked.printer.hole_spread(asked.orientation)
    slack = max(loosest, size.clearance + spread)
    most = math.floor((wire + slack) / PINS_APART) * PINS_APART
    passing = _between(size, asked, least, most)
    draw = show_length(size.draw_diameter)
    return passing, [
        Window(
            key="pins",
            test=f"A hole drawn {draw} like the channel, the thickest pin that enters",
            size=size.draw_diameter,
            turned=0.0,
            unit="m",
            low=least,
            high=most,
            usual=(size.opening - 2 * spread, size.opening + 2 * spread),
            below="draw the channel wider by what is missing",
            above="draw the channel narrower by what is too much",
            changed_below=None,
            changed_above=None,
            passing=passing,
            sentence=f"A hole drawn {draw} like the channel: pin {least * 1e3:.1f} mm enters and "
            f"{most * 1e3 + 0.1:.1f} mm does not; else draw the channel wider or narrower by as "
            "much.",
        )
    ]


def _between(size: ChannelSize, asked: AssessedPlan, least: float, most: float) -> float:
    from scipy.stats import norm

    spread = asked.printer.hole_spread(asked.orientation)
    if spread == 0:
        return float(least <= size.opening <= most)
    return float(np.diff(norm.cdf([least, most], size.opening, spread))[0])
