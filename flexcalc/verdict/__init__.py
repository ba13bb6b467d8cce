"""One limb in its poses: hands on the verdict, its checks, what helps, and how far to bend."""

from flexcalc.verdict.checks import Check
from flexcalc.verdict.overbend import OverBend, over_bend, over_bend_setting
from flexcalc.verdict.plan import LimbPlan, NamedPose, Wish
from flexcalc.verdict.poses import PosesVerdict, assess_poses
from flexcalc.verdict.remedy import Remedy, remedies
from flexcalc.verdict.verdict import Verdict, assess
from flexcalc.verdict.window import Window, Windows, windows

__all__ = [
    "Check",
    "LimbPlan",
    "NamedPose",
    "OverBend",
    "PosesVerdict",
    "Remedy",
    "Verdict",
    "Window",
    "Windows",
    "Wish",
    "assess",
    "assess_poses",
    "over_bend",
    "over_bend_setting",
    "remedies",
    "windows",
]
