"""Measures in inches and ounces, against conversions done by hand with the exact factors.

An inch is 25.4 mm, an ounce 28.349523125 g, a pound-force 4.4482216152605 N (international yard and
pound agreement of 1959, and the standard fall of 9.80665 m/s2, from memory).
"""

from __future__ import annotations

import pytest

from data.inches import column_in_inches, in_inches, in_mm, sold_as


@pytest.mark.parametrize(
    ("metric", "inches"),
    [
        ("R 45 mm", "R 1.77 in"),  # 45 / 25.4 = 1.7717
        ("160 mm", "6.3 in"),  # 6.2992
        ("kinks below R 9.5 mm (8.1 mm to 12 mm)", "kinks below R 0.37 in (0.32 in to 0.47 in)"),
        ("from 3.25 to 3.65 mm", "from 0.128 to 0.144 in"),  # 0.12795, 0.14370
        ("120 × 12 × 2 mm", "4.72 × 0.47 × 0.079 in"),
        ("0.0 mm", "0 in"),
        ("-3.4 mm", "-0.13 in"),
        ("34.2 g and 5 kg", "1.21 oz and 11 lb"),  # 1.2064, 11.023
        ("2.5\nmm and 50 cm2", "0.098 in and 7.8 in²"),  # 7.750
        ("0.18 m", "0.59 ft"),  # 0.5906
        ("25 N", "5.6 lbf"),  # 5.6202
        ("152 N mm", "1.35 lbf in"),  # 1.3453
        ("45.3 cm²", "7.02 in²"),  # 7.0215
        ("3 mm = 0.118 in", "0.12 in"),
        ("150 mm (5.91 in)", "5.91 in"),
    ],
)
def test_a_measure_is_said_no_finer_than_it_was(metric: str, inches: str) -> None:
    assert in_inches(f"It is {metric}.") == f"It is {inches}."


def test_what_is_no_measure_stays() -> None:
    kept = 'width="45.0mm" of 1.2 g/cm³, AWG 12, 35 MPa, 3 mL, file 12 mmx'
    assert in_inches(kept) == kept
    assert in_inches(f"copper, {sold_as('2.5 mm')}").endswith("2.5\u00a0mm")


def test_in_millimetres_no_inches_stand_beside_them() -> None:
    assert in_mm("wire 2.5 mm = 0.0984 in, cut 150 mm (5.91 in)") == "wire 2.5 mm, cut 150 mm"


def test_a_column_may_have_its_unit_in_its_head() -> None:
    head, cells = column_in_inches("Sags, mm (four of five)", ["12.7 (10 to 15)", "–"])
    assert (head, cells) == ("Sags, in (four of five)", ["0.5 (0.39 to 0.59)", "–"])
