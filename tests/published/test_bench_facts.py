"""Batches and air: arithmetic worked out beside it, and facts of a safety guide.

Batches: computed by hand. Alcohol: NIOSH Pocket Guide to Chemical Hazards, isopropyl alcohol (a
mirror was read). Drops: pages read, not authoritative: 0.05 mL nominal, 0.02 to 0.05 mL for
alcohol. Thresholds: R. D. Paravina and others (2015), abstract read; 2.3 in CIELAB (read).
"""

from __future__ import annotations

import pytest

from data import read_table
from tinting.mix.batch import drops_for, thin_down, top_up, volume_for_area
from tinting.mix.vapour import LONG_LIMIT_PPM, SHORT_LIMIT_PPM, vapour_ppm

ML = 1e-6


def test_liquid_for_a_part() -> None:
    found = volume_for_area(250e-4, 3, coverage=0.5 * ML / 100e-4, loss_factor=1.5)
    assert found / ML == pytest.approx(5.625, abs=1e-9)


def test_drops_of_a_batch() -> None:
    found = drops_for(10 * ML, 0.03, 0.05 * ML)
    assert found.drops == 6 and found.cautions == ()
    assert found.stock_volume / ML == pytest.approx(0.3, abs=1e-9)
    assert found.alcohol_volume / ML == pytest.approx(9.7, abs=1e-9)
    assert found.share == pytest.approx(0.03, abs=1e-9)


def test_stronger_and_weaker() -> None:
    assert top_up(12 * ML, 0.02, 0.05) / ML == pytest.approx(0.37895, abs=1e-4)
    assert thin_down(12 * ML, 0.05, 0.02) / ML == pytest.approx(18.0, abs=1e-9)


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
