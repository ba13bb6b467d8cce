"""A limb bent, let go and loaded: hands on the share of the bend kept and on the resting shape."""

from flexcalc.pose.pose import Pose, Shape, hold_pose
from flexcalc.pose.retained import retained_bend

__all__ = [
    "Pose",
    "Shape",
    "hold_pose",
    "retained_bend",
]
