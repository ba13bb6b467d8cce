"""The limb once more, with a corner piece in place of a bend that it cannot take by itself."""

from __future__ import annotations

from dataclasses import replace

from data.rules import check_kind, check_whole
from flexcalc.build.corner import CornerPiece
from flexcalc.limb.inputs import Bend, Limb, Setting
from flexcalc.pose.pose import Pose, hold_pose


def with_corner(setting: Setting, number: int, piece: CornerPiece) -> Setting:
    """Return a setting in which a corner piece holds one bend.

    Parameters
    ----------
    setting : Setting
        With the bend that the piece was made for.
    number : int
        Which bend, 0 the first from the clamp.
    piece : CornerPiece
        It takes the bend's middle, at the radius of its groove, less what its legs give way.

    Raises
    ------
    ValueError
        If the wider corner runs into the clamp or into the next bend.
    """
    check_kind("setting", setting, Setting, "a Setting")
    check_kind("corner piece", piece, CornerPiece, "a CornerPiece")
    number = check_whole("bend number", number, least=0, most=len(setting.bends) - 1)
    bend = setting.bends[number]
    kept = max(1 - piece.give / abs(bend.angle), 0.0) if bend.angle else 0.0
    middle = (bend.start + bend.end) / 2
    length = abs(bend.angle) * kept * piece.channel_radius
    held = Bend(
        start=middle - length / 2,
        angle=bend.angle * kept,
        radius=piece.channel_radius,
        rigid=True,
        swing=bend.swing,
    )
    return replace(setting, bends=(*setting.bends[:number], held, *setting.bends[number + 1 :]))


def pose_with_corner(limb: Limb, setting: Setting, number: int, piece: CornerPiece) -> Pose:
    """Return how a limb is held with a corner piece in one bend; arguments as `with_corner`."""
    return hold_pose(limb, with_corner(setting, number, piece))
