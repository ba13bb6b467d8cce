"""Air and drops: facts of a safety guide and of pages.

Alcohol: NIOSH Pocket Guide to Chemical Hazards, isopropyl alcohol (a
mirror was read). Drops: pages read, not authoritative: 0.05 mL nominal, 0.02 to 0.05 mL for
alcohol. Thresholds: R. D. Paravina and others (2015), abstract read; 2.3 in CIELAB (read).
"""

from __future__ import annotations

import pytest

from data import read_table
from tinting.mix.vapour import LONG_LIMIT_PPM, SHORT_LIMIT_PPM, vapour_ppm

ML = 1e-6


def test_vapour_in_a_small_closed_room() -> None:
    assert vapour_ppm(10 * ML, 30.0) == pytest.approx(106.4, abs=0.2)


def test_alcohol_as_the_guide_prints_it() -> None:
    alcohol = read_table("constants")["isopropyl alcohol"]
    assert pytest.approx(alcohol["flash_point"].value, abs=0.05) == (53 - 32) / 1.8
    assert alcohol["lower_limit"].value == pytest.approx(0.02)
    assert alcohol["saturated_vapour"].value == pytest.approx(33 / 760, abs=5e-4)
    assert alcohol["density"].value == pytest.approx(790, abs=6)  # specific gravity 0.79
    assert alcohol["vapour_per_ppm"].value == pytest.approx(2.46)
    assert pytest.approx((400, 500)) == (LONG_LIMIT_PPM, SHORT_LIMIT_PPM)


def test_drop_of_alcohol_is_within_what_was_read() -> None:
    drop = read_table("constants")["drop"]
    assert 0.02 * ML <= drop["volume"].low < drop["volume"].high <= 0.05 * ML
    assert drop["water_volume"].value == pytest.approx(0.05 * ML)


def test_thresholds() -> None:
    steps = read_table("constants")["colour difference"]
    assert steps["perceptible"].value == 0.8
    assert steps["acceptable"].value == 1.8
    assert steps["just_noticeable"].value == 2.3
