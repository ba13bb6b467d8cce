"""Which stretch of a limb each bend takes: the arc of a former, or the reach of a hand's arms.

An arm ends where the limb ends, at a corner piece, and half way to the next bend that is pressed,
so that no section is pressed twice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from data import read_table
from data.rules import Caution, refuse
from flexcalc.joints.aims import in_plane_setting
from flexcalc.joints.hands import Press
from flexcalc.limb.inputs import Bend, Setting

SLACK = 1 - 1e-9


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """The limb from ``start`` to ``end`` [m] that a ``bend`` takes, and the ``presses`` that
    make it; none round a former or where a corner piece holds it."""

    start: float
    end: float
    bend: Bend
    presses: tuple[Press, ...] = ()


def thumb_width() -> float:
    """Return the width of a thumb that presses a limb. [m]"""
    return read_table("constants")["hand"]["thumb_width"].value


def bent_stretches(
    setting: Setting, length: float, width: float, thumb: float | None = None
) -> tuple[Stretch, ...]:
    """Return the stretches of a limb that its bends take, one per bend.

    Parameters
    ----------
    setting : Setting
        Bends, lever and places.
    length, width : float
        Of the limb. [m]
    thumb : float, optional
        How wide the thumb presses; left out, a point where it presses at one place only, else
        `thumb_width`. [m]

    Raises
    ------
    ValueError
        Where hands find no arm as long as half of the limb's width.
    """
    found = []
    setting = in_plane_setting(setting)
    for number, bend in enumerate(setting.bends):
        presses = () if _round_a_former(setting, bend) else _presses(setting, number, length, thumb)
        for press in presses:
            if min(press.left, press.right) < width / 2:
                rule = f"so that each finger finds an arm of at least {500 * width:.3g} mm"
                raise refuse("bend start", rule, f"{1e3 * (min(press.left, press.right)):.3g} mm")
        start = min((press.middle - press.left for press in presses), default=bend.start)
        end = max((press.middle + press.right for press in presses), default=bend.end)
        found.append(Stretch(start=start, end=min(end, length), bend=bend, presses=presses))
    return tuple(found)


def stretch_cautions(setting: Setting, length: float) -> tuple[Caution, ...]:
    """Return what is to be said of bends by hand that reach beyond their arcs."""
    found: dict[str, Caution] = {}
    for number, bend in enumerate(setting.bends):
        if _round_a_former(setting, bend):
            continue
        low, high = _limits(setting, number, length)
        middles = _middles(setting, bend)
        for edge, room in ((low, middles[0] - low), (high, high - middles[-1])):
            if room >= setting.lever * SLACK:
                continue
            at_end = edge in (0.0, length)
            key = "short arm" if at_end else "bends meet"
            where = "limb ends" if at_end else "next bend or corner piece begins"
            text = (
                f"A hand's lever of {1e3 * setting.lever:.0f} mm is cut where the {where}: the "
                "bend gets sharper and needs more force."
            )
            found[key] = Caution(key=key, text=text)
    return tuple(found.values())


def _round_a_former(setting: Setting, bend: Bend) -> bool:
    return setting.bent_by == "former" or bend.rigid or bend.angle == 0


def _middles(setting: Setting, bend: Bend) -> list[float]:
    arc = abs(bend.angle) * bend.radius
    return [bend.start + (place + 0.5) * arc / setting.places for place in range(setting.places)]


def _presses(
    setting: Setting, number: int, length: float, thumb: float | None
) -> tuple[Press, ...]:
    low, high = _limits(setting, number, length)
    # one press is the plain triangle; hands that move along have the width of a thumb
    if thumb is None:
        thumb = thumb_width() if setting.places > 1 else 0.0
    return tuple(
        Press(
            middle=middle,
            left=min(setting.lever, middle - low),
            right=min(setting.lever, high - middle),
            thumb=thumb,
        )
        for middle in _middles(setting, setting.bends[number])
    )


def _limits(setting: Setting, number: int, length: float) -> tuple[float, float]:
    """Return between which places [m] the arms of a bend may reach."""
    bend = setting.bends[number]
    middles = _middles(setting, bend)
    low, high = 0.0, length
    for other in setting.bends[:number]:
        if other.rigid:
            low = max(low, other.end)
        elif other.angle:
            low = max(low, _between(_middles(setting, other)[-1], middles[0], setting.lever)[1])
    for other in setting.bends[number + 1 :]:
        if other.rigid:
            high = min(high, other.start)
        elif other.angle:
            high = min(high, _between(middles[-1], _middles(setting, other)[0], setting.lever)[0])
    return low, high


def _between(first: float, second: float, lever: float) -> tuple[float, float]:
    """Return how far the arms of two neighbours reach: to half way where they would overlap."""
    if second - first >= 2 * lever:
        return math.inf, -math.inf
    return (first + second) / 2, (first + second) / 2
