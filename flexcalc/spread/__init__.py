"""Thousands of limbs that could be this one: hands on a band, a probability and their drivers."""

from flexcalc.spread.sample import PoseSample, sample_pose

__all__ = [
    "PoseSample",
    "sample_pose",
]
