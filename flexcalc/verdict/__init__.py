"""One limb in one pose: hands on the verdict, its checks, what helps, and how far to bend."""

from flexcalc.verdict.checks import Check
from flexcalc.verdict.overbend import OverBend, over_bend, over_bend_setting
from flexcalc.verdict.plan import LimbPlan, Wish
from flexcalc.verdict.remedy import Remedy, remedies
from flexcalc.verdict.verdict import Verdict, assess

__all__ = [
    "Check",
    "LimbPlan",
    "OverBend",
    "Remedy",
    "Verdict",
    "Wish",
    "assess",
    "over_bend",
    "over_bend_setting",
    "remedies",
]
