"""A limb in several poses, which the figure takes one after the other, over and over.

Every pose starts from the one before it; the wire tires by the sum of all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from data.rules import Array, Caution
from flexcalc.build.life import WireLife, sequence_life
from flexcalc.limb.inputs import Limb
from flexcalc.limb.printer import Printer
from flexcalc.pose.pose import Pose, hold_pose
from flexcalc.spread.likely_limits import limits_met
from flexcalc.verdict.checks import STATES, Check, life_check
from flexcalc.verdict.plan import NamedPose, Wish, poses_in_order
from flexcalc.verdict.verdict import SAMPLES, SEED, Verdict, assess

PLACES = 400
"""Places along the wire at which the poses are compared."""
DRAWN_LIFE = 3
"""Column of `PoseSample.met` that tells of the life."""


@dataclass(frozen=True, kw_only=True)
class PosesVerdict:
    """What a maker needs to know of a limb in several poses.

    ``names`` and ``verdicts`` of the poses in their order, each coming from the one before;
    ``life`` of the wire in times through all of them (none without a wire or a bend) and
    ``life_check``, the question of it; ``probability`` that all poses hold as wished in one and
    the same limb, and its wire lives. ``state`` is the worst of all, ``sentence`` says it.
    """

    sentence: str
    names: tuple[str, ...]
    verdicts: tuple[Verdict, ...] = field(repr=False)
    life: tuple[WireLife, ...] = field(repr=False)
    life_check: tuple[Check, ...] = field(repr=False)
    probability: float
    state: str
    wish: Wish

    def __str__(self) -> str:
        return self.sentence

    @property
    def matrix(self) -> tuple[tuple[str, tuple[Check, ...]], ...]:
        """The name of every pose with its checks: rows of one table.

        The checks of a pose count its own life, to and from straight; the last row, "all", has
        that of the sequence.
        """
        rows = [(n, v.checks) for n, v in zip(self.names, self.verdicts, strict=True)]
        return (*rows, ("all", self.life_check)) if self.life_check else tuple(rows)

    @property
    def worst(self) -> int:
        """The number of the pose that holds worst, 0 the first."""
        ranks = [
            (-STATES.index(verdict.state), verdict.likely.probability) for verdict in self.verdicts
        ]
        return min(range(len(ranks)), key=lambda number: ranks[number])

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """The cautions of all poses, each kind once."""
        found = [caution for verdict in self.verdicts for caution in verdict.cautions]
        return tuple({caution.key: caution for caution in found}.values())


def assess_poses(
    limb: Limb,
    poses: Sequence[NamedPose],
    wish: Wish | None = None,
    *,
    printer: Printer | None = None,
    orientation: str = "lying",
) -> PosesVerdict:
    """Return the verdict on a limb in several poses.

    Parameters
    ----------
    limb : Limb
        The limb with its wire.
    poses : sequence of NamedPose
        1 to 12 in the order in which the figure takes them, over and over; what their settings
        say of the pose before is replaced.
    wish : Wish, optional
        What counts as holding in every pose; its re-poses are times through all of them.
    printer, orientation
        As for `assess`.

    Returns
    -------
    PosesVerdict

    Raises
    ------
    ValueError
        As `assess`, and for poses that are none, too many or called the same.
    """
    wish = Wish() if wish is None else wish
    ordered = poses_in_order(limb, poses)
    verdicts = tuple(
        assess(limb, pose.setting, wish=wish, printer=printer, orientation=orientation)
        for pose in ordered
    )
    life = _life(limb, verdicts)
    checks = tuple(
        replace(life_check(one, wish), question="How often can it go through all its poses?")
        for one in life
    )
    met = np.all([verdict.likely.met[:, :DRAWN_LIFE] for verdict in verdicts], axis=(0, 2))
    for one in life:
        met &= limits_met(verdicts[0].kink, one, 0.0, wish.re_poses, SAMPLES, SEED)[1]
    probability = float(met.mean())
    state = _state(verdicts, checks, probability, wish)
    names = tuple(pose.name for pose in ordered)
    return PosesVerdict(
        sentence=_sentence(names, verdicts, checks, probability, state),
        names=names,
        verdicts=verdicts,
        life=life,
        life_check=checks,
        probability=probability,
        state=state,
        wish=wish,
    )


def _life(limb: Limb, verdicts: Sequence[Verdict]) -> tuple[WireLife, ...]:
    """Return the life of the wire through all poses as they are bent by hand."""
    if limb.wire is None or any(verdict.pose is None for verdict in verdicts):
        return ()
    curvatures = np.array([_in_the_hand(limb, verdict) for verdict in verdicts])
    return (sequence_life(limb.wire, curvatures),) if curvatures.any() else ()


def _in_the_hand(limb: Limb, verdict: Verdict) -> Array:
    """Return the curvature in the hand at places along the limb, its peaks kept. [1/m]"""
    pose: Pose = hold_pose(limb, verdict.made)
    shape = pose.shape_set
    places = (np.arange(PLACES) + 0.5) / PLACES * limb.length
    cell = np.clip(np.searchsorted(shape.arc_length, places) - 1, 0, len(shape.curvature) - 1)
    bent = shape.curvature[cell]
    greatest = float(np.abs(bent).max(initial=0.0))
    peak = max(pose.peak_curvature, default=0.0)
    # cells of a press are a little flatter than its middle
    return np.asarray(bent * (peak / greatest if greatest and peak > greatest else 1.0))


def _state(
    verdicts: Sequence[Verdict], checks: Sequence[Check], probability: float, wish: Wish
) -> str:
    """Return the worst state: of the poses, of the life, and of all of it in one limb."""
    sure = (
        "holds" if probability >= wish.probability else "close" if probability >= 0.5 else "fails"
    )
    states = [verdict.state for verdict in verdicts] + [check.state for check in checks]
    return max([sure, *states], key=STATES.index)


def _sentence(
    names: Sequence[str],
    verdicts: Sequence[Verdict],
    checks: Sequence[Check],
    probability: float,
    state: str,
) -> str:
    said = [f"{name} {verdict.state}" for name, verdict in zip(names, verdicts, strict=True)]
    worst = max(verdicts, key=lambda one: (STATES.index(one.state), -one.likely.probability))
    number = list(verdicts).index(worst)
    why = "" if state == "holds" else f" {names[number]}: {worst.sentence}"
    lives = "".join(f" It goes through all of them {check.answer}." for check in checks)
    return (
        f"{'; '.join(said)}.{why}{lives} All of it holds in one limb with a probability of "
        f"{probability:.0%}."
    )
