"""Measurements at the bench: hands on what they teach of filament, wire and printer."""

from flexcalc.bench.learning import (
    Droop,
    KinkTest,
    Learned,
    MandrelBend,
    PinGauge,
    PoseTest,
    learned,
    updated,
)

__all__ = [
    "Droop",
    "KinkTest",
    "Learned",
    "MandrelBend",
    "PinGauge",
    "PoseTest",
    "learned",
    "updated",
]
