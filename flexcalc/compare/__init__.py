"""Every wire of the trade in one limb: hands on a table with bands."""

from flexcalc.compare.wires import WireChoice, WireTable, compare_wires

__all__ = [
    "WireChoice",
    "WireTable",
    "compare_wires",
]
