"""Follow the resting shape of a batch of chains while their load rises from zero.

Each step corrects the shape at the load it has reached and, where that correction is small,
raises the load as far as no segment turns too much. A step that leaves the branch is taken
back and halved. Where the branch ends (the chain buckles or snaps over) the chain runs
downhill in energy to the next stable shape, at that load, and is marked.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from flexcalc.balance import Array, Chain, Forces, Mask, Rows, forces
from flexcalc.descent import descended
from flexcalc.secant import ROUNDS, secant_steps
from flexcalc.tridiagonal import chain_steps

LARGEST_TURN = 1.0  # rad, of a segment while the load rises
CLOSE = 0.2  # rad, correction below which the load may rise further
AT_REST = 1e-3  # rad, the same once a rise was taken back: the law may have corners
ASTRAY = 0.5  # rad, correction that shows a step was too long
DONE = 1e-6  # rad, the last correction; Newton squares what it leaves
DONE_AT_CORNER = 1e-4  # rad, the same late, where it jumps to and fro over a corner of the law
FINEST_RISE = 1e-3  # of the load; the branch ends where even this is too much
KICK = 0.05  # rad at the tip, pushes a chain off an equilibrium it cannot keep
LONG_FALL = 40  # steps after which a chain that falls does so by secants
LONGEST_RISE = 150  # steps along the branch; a load that needs more is let fall from there
LONGEST_FALL = 100  # steps after that; what falls on and on hangs like a rope
MOST_STEPS = 750


@dataclass(frozen=True, kw_only=True)
class Followed:
    """Resting ``angles`` and joint ``moments`` (B, N), whether the branch was ``kept`` (B,), the
    largest moment out of balance ``left`` (B,), the number of ``steps``, and the ``work``: how
    often the moment of a joint was worked out (B,).
    """

    angles: Array
    moments: Array
    kept: Mask
    left: Array
    steps: int
    work: Array


@dataclass(frozen=True, kw_only=True)
class _Path:
    """Where each member stands: shape, share of the load, and the last shape it had in rest.

    ``rest_step`` (B, N) is what was left to correct there, and ``rest_response`` (B, N) how that
    shape answers to more load; both 0 before the first rest, ``rested`` (B,). ``work`` (B,): how
    often a moment was worked out.
    """

    angles: Array
    forces: Forces
    load: Array
    rest_angles: Array
    rest_load: Array
    rest_step: Array
    rest_response: Array
    rested: Mask
    most_rise: Array
    careful: Mask
    falling: Mask
    kept: Mask
    done: Mask
    work: Array

    def take(self, rows: Rows) -> _Path:
        values = {name: value[rows] for name, value in vars(self).items() if name != "forces"}
        return _Path(forces=self.forces.take(rows), **values)


def followed(chain: Chain, start: Array, load: float, longest_rise: int = LONGEST_RISE) -> Followed:
    """Return where a batch of chains comes to rest at the full load.

    ``load`` is the share of the full load at which ``start`` is (nearly) at rest: 0 to follow
    the branch from the unloaded shape, 1 to refine a shape that is known. ``longest_rise`` as
    `LONGEST_RISE`.
    """
    batch = len(start)
    rows = np.arange(batch)
    path = _Path(
        angles=start,
        forces=forces(chain, start),
        load=np.full(batch, load),
        rest_angles=start,
        rest_load=np.full(batch, load),
        rest_step=np.zeros_like(start),
        rest_response=np.zeros_like(start),
        rested=np.zeros(batch, dtype=bool),
        most_rise=np.ones(batch),
        careful=np.zeros(batch, dtype=bool),
        falling=np.full(batch, load == 1),
        kept=np.ones(batch, dtype=bool),
        done=np.zeros(batch, dtype=bool),
        work=np.zeros(batch),
    )
    ends: list[tuple[Rows, _Path]] = []
    for step in range(1, MOST_STEPS + 1):
        if step == longest_rise:
            path = _let_fall(path)
        if step == longest_rise + LONGEST_FALL:
            path = _let_hang(chain, path)
        late = step >= longest_rise
        path = _advanced(chain, path, late, secants=late or step >= LONG_FALL)
        done = path.done
        if done.all():
            return _gathered([*ends, (rows, path)], step)
        narrower = chain.take(np.flatnonzero(~done)) if done.mean() > 0.3 else None
        if narrower is not None:
            ends.append((rows[done], path.take(np.flatnonzero(done))))
            chain, rows, path = narrower, rows[~done], path.take(np.flatnonzero(~done))
    raise RuntimeError(_stuck(chain, path.angles, int(np.argmin(done))))


def _let_fall(path: _Path) -> _Path:
    """Put the full load at once on the members that still rise, and give up their branch."""
    slow = ~path.done
    load = np.where(slow, 1.0, path.load)
    return replace(path, load=load, falling=path.falling | slow, kept=path.kept & ~slow)


def _let_hang(chain: Chain, path: _Path) -> _Path:
    """Hang the members that still fall straight down: so limp a chain rests near there."""
    angles = np.where(path.done[:, None], path.angles, 0.0)
    return replace(path, angles=angles, forces=forces(chain, angles))


def _gathered(ends: list[tuple[Rows, _Path]], steps: int) -> Followed:
    """Put the members back into their order."""
    order = np.argsort(np.concatenate([rows for rows, _ in ends]))
    gradients = [path.forces.gradient(path.load) for _, path in ends]
    return Followed(
        angles=np.concatenate([path.angles for _, path in ends])[order],
        moments=np.concatenate([path.forces.moments for _, path in ends])[order],
        kept=np.concatenate([path.kept for _, path in ends])[order],
        left=np.concatenate([np.abs(one).max(axis=1) for one in gradients])[order],
        steps=steps,
        work=np.concatenate([path.work for _, path in ends])[order],
    )


def _stuck(chain: Chain, angles: Array, member: int) -> str:
    return (
        f"the chain found no rest (steps at most {MOST_STEPS}): member {member}, clamp angle "
        f"{chain.clamp[member]:.9g} rad, load times segment up to {chain.pull[member].max():.9g} "
        f"N m, joint lengths up to {chain.joints.max():.9g} m, angles from "
        f"{angles[member].min():.9g} to {angles[member].max():.9g} rad"
    )


def _advanced(chain: Chain, path: _Path, late: bool, secants: bool) -> _Path:
    """One step for every member that has not yet come to rest; those that fall use ``secants``."""
    gradient = path.forces.gradient(path.load)
    rising = path.load < 1
    sides = [-gradient, -path.forces.outer] if rising.any() else [-gradient]
    bowl = path.load[:, None] * path.forces.bowl
    solved, sound = chain_steps(path.forces.stiffness, bowl, sides)
    step, size = solved[0], np.abs(solved[0]).max(axis=1)
    if not np.isfinite(size).all():
        raise RuntimeError(_stuck(chain, path.angles, int(np.argmin(np.isfinite(size)))))
    settled = sound & (size < np.where(path.careful, AT_REST, CLOSE))
    climb = settled & rising
    path, astray = _judged(path, sound, size)
    near = DONE_AT_CORNER if late else DONE
    kicked = ~sound & (size < DONE) & ~astray
    search = (~settled | (~rising & (size >= near))) & ~kicked & ~astray & ~path.done
    if climb.any():
        before = path.load
        path = _risen(path, climb, step, solved[1])
        step = step + (path.load - before)[:, None] * solved[1]
    if kicked.any():
        side = np.where(chain.clamp >= 0, -KICK, KICK)[kicked]
        step[kicked] += side[:, None] * np.linspace(0, 1, step.shape[1] + 1)[1:]
    if search.any():
        step[search] *= np.minimum(1, 2 * LARGEST_TURN / size[search])[:, None]
        rows = np.flatnonzero(search & path.falling)
        if secants and rows.size:
            step = secant_steps(chain, path.angles, path.forces, path.load, step, rows)
            path.work[rows] += ROUNDS * step.shape[1]
    if path.done.any():
        step[path.done] = 0
    base = path.angles
    if astray.any():
        base = np.where(astray[:, None], path.rest_angles, base)
        more = (path.load - path.rest_load)[:, None] * path.rest_response + path.rest_step
        step[astray] = more[astray]
    path = replace(path, done=path.done | (sound & ~rising & (size < near)))
    slope = np.where(search, np.sum(gradient * step, axis=1), -np.inf)
    angles, there, worked = descended(chain, base, step, path.load, slope, late)
    return replace(path, angles=angles, forces=there, work=path.work + worked)


def _judged(path: _Path, sound: Mask, size: Array) -> tuple[_Path, Mask]:
    """Halve the rises that left the branch, or let the member fall where it ends there."""
    rise = path.load - path.rest_load
    off = ~path.falling & (rise > 0) & (~sound | (size > ASTRAY))
    if not off.any():
        return path, off
    over = off & (rise <= FINEST_RISE * path.load)
    back = off & ~over
    path = replace(
        path,
        load=np.where(back, path.rest_load + np.where(path.rested, rise / 2, 0.0), path.load),
        most_rise=np.where(back, np.where(path.rested, rise, rise / 2), path.most_rise),
        careful=path.careful | back,
        falling=path.falling | over,
        kept=path.kept & ~over,
    )
    return path, back


def _risen(path: _Path, climb: Mask, step: Array, response: Array) -> _Path:
    """Raise the load of the members at rest so that no segment turns more than LARGEST_TURN."""
    size, turn = np.abs(step).max(axis=1), np.abs(response).max(axis=1)
    allowed = (LARGEST_TURN - size) / np.maximum(turn, 1e-300)
    fallen = climb & path.falling  # onto another branch, which is followed as if from the start
    most = np.where(fallen, 1.0, path.most_rise)
    rise = np.minimum(np.minimum(allowed, most), 1 - path.load)
    load = np.where(rise >= 1 - path.load, 1.0, path.load + rise)
    at_rest = climb & (size < AT_REST)
    return replace(
        path,
        load=np.where(climb, load, path.load),
        rest_angles=np.where(at_rest[:, None], path.angles, path.rest_angles),
        rest_load=np.where(at_rest, path.load, path.rest_load),
        rest_step=np.where(at_rest[:, None], step, path.rest_step),
        rest_response=np.where(at_rest[:, None], response, path.rest_response),
        rested=path.rested | at_rest,
        most_rise=np.where(climb, 2 * rise, path.most_rise),
        careful=path.careful & ~fallen,
        falling=path.falling & ~climb,
    )
