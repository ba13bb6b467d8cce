"""What is printed and put together: hands on channels, forces, lives, kinks, magnets and solids."""

from flexcalc.build.channel import ChannelSize, size_channel
from flexcalc.build.corner import CornerPiece, corner_piece
from flexcalc.build.kink import Kink, kink_radius_of
from flexcalc.build.life import WireLife, wire_life
from flexcalc.build.magnet import MagnetHold, magnet_hold
from flexcalc.build.solids import Piece, bending_former, droop_strip, file_bytes, limb_sample

__all__ = [
    "ChannelSize",
    "CornerPiece",
    "Kink",
    "MagnetHold",
    "Piece",
    "WireLife",
    "bending_former",
    "corner_piece",
    "droop_strip",
    "file_bytes",
    "kink_radius_of",
    "limb_sample",
    "magnet_hold",
    "size_channel",
    "wire_life",
]
