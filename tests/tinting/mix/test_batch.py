"""Batches and air: sums that close, round trips, refusals."""

from __future__ import annotations

import math

import pytest

from tinting.mix.batch import (
    DROP_VOLUME,
    drop_volume_by_weight,
    drops_for,
    parts_text,
    pre_dilution,
    thin_down,
    top_up,
    volume_for_area,
    volume_share,
)
from tinting.mix.vapour import evaporation, fire_caution, vapour_cautions, vapour_ppm

ML = 1e-6


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.1, "1 part dye + 9 parts alcohol"),
        (0.5, "1 part dye + 1 part alcohol"),
        (0.75, "3 parts dye + 1 part alcohol"),
        (0.03, "1 part dye + 32.3 parts alcohol"),
        (1 / 3001, "1 part dye + 3000 parts alcohol"),
        (0.0, "alcohol alone"),
        (1.0, "dye as it comes"),
    ],
)
def test_parts_are_named(share: float, text: str) -> None:
    assert parts_text(share) == text
    assert ":" not in parts_text(share)


def test_parts_and_share_go_round() -> None:
    assert volume_share(1, 9) == pytest.approx(0.1)
    assert volume_share(3, 0) == 1
    assert volume_share(0, 5) == 0


def test_coats_add_up() -> None:
    one, three = volume_for_area(0.01, 1), volume_for_area(0.01, 3)
    assert three == pytest.approx(3 * one)


def test_drops_close_the_batch_and_few_are_said() -> None:
    for share in (0.0, 0.004, 0.02, 0.333, 1.0):
        found = drops_for(10 * ML, share, 0.031 * ML)
        assert found.stock_volume + found.alcohol_volume == pytest.approx(10 * ML)
        assert abs(found.share - share) <= 0.031 / 10 * 0.51 + (share == 1.0) * 0.0031
    assert [note.key for note in drops_for(10 * ML, 0.004).cautions] == ["few drops"]
    assert drops_for(10 * ML, 0.0).cautions == ()


def test_pre_dilution_makes_drops_countable() -> None:
    plain = pre_dilution(10 * ML, 0.05)
    assert plain.parts_alcohol == 0 and plain.drops == drops_for(10 * ML, 0.05).drops
    thin = pre_dilution(10 * ML, 0.004, 0.05 * ML)
    assert thin.parts_alcohol == 9 and thin.drops == 8
    assert thin.share == pytest.approx(0.004)
    assert thin.text == "dilute first: 1 part dye + 9 parts alcohol; then 8 drops of that"
    thinner = pre_dilution(10 * ML, 0.0004, 0.05 * ML)
    assert thinner.parts_alcohol == 99 and thinner.drops >= 3
    with pytest.raises(ValueError, match="batch must be big enough for 3 drops"):
        pre_dilution(0.05 * ML, 0.5, 0.05 * ML)


def test_stronger_then_weaker_comes_back() -> None:
    added = top_up(8 * ML, 0.03, 0.1)
    dye = 8 * ML * 0.03 + added
    assert dye / (8 * ML + added) == pytest.approx(0.1)
    thinned = thin_down(8 * ML + added, 0.1, 0.03)
    assert dye / (8 * ML + added + thinned) == pytest.approx(0.03)


def test_calibrated_drop() -> None:
    assert drop_volume_by_weight(50, 1.256e-3) == pytest.approx(0.032 * ML)
    assert pytest.approx(0.032 * ML) == DROP_VOLUME
    with pytest.raises(ValueError, match="volume of one drop must be"):
        drop_volume_by_weight(50, 1.0)


def test_open_jar_gets_stronger_and_keeps_its_dye() -> None:
    jar = evaporation(10 * ML, 0.1, math.pi * 0.03**2, 3600.0)
    assert jar.volume + jar.alcohol_lost == pytest.approx(10 * ML)
    assert jar.share * jar.volume == pytest.approx(0.1 * 10 * ML)
    assert jar.share > 0.1
    assert jar.lost_low < jar.alcohol_lost < jar.lost_high
    # 28 cm2 at a quarter of a litre or so per square metre and hour: below 1 mL
    assert 0.5 * ML < jar.alcohol_lost < 1.2 * ML
    assert "stronger" in {note.key for note in jar.cautions}
    dry = evaporation(10 * ML, 0.1, 0.003, 1e6)
    assert dry.volume == pytest.approx(1 * ML) and dry.share == pytest.approx(1)
    assert "dried out" in {note.key for note in dry.cautions}
    still = evaporation(10 * ML, 0.1, 0.003, 0.0)
    assert still.share == 0.1 and still.cautions == ()
    assert evaporation(10 * ML, 0.0, 0.003, 1e8).share == 0


def test_air_is_judged_by_the_limits_and_fire_is_always_said() -> None:
    assert vapour_ppm(20 * ML, 30) == pytest.approx(2 * vapour_ppm(10 * ML, 30))
    for volume, key in ((10, "air"), (40, "air above long limit"), (60, "air above short limit")):
        found = [note.key for note in vapour_cautions(volume * ML, 30.0)]
        assert found == ["fire", key]
    assert "106 ppm" in vapour_cautions(10 * ML, 30.0)[1].text
    assert "11.7" in fire_caution().text and "4.3%" in fire_caution().text


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: volume_for_area(0.0, 1), "area must be a finite number above 0"),
        (lambda: volume_for_area(0.01, 0), "coats must be"),
        (lambda: volume_for_area(0.01, 1, coverage=-1), "coverage must be"),
        (lambda: volume_for_area(0.01, 1, loss_factor=0.5), "loss factor must be"),
        (lambda: drops_for(1e-5, 0.5, 1.0), "drop volume must be"),
        (lambda: drops_for(1e-9, 0.5), "batch must be"),
        (lambda: drops_for(1e-5, "1:10"), "share must be"),
        (lambda: top_up(1e-5, 0.5, 0.2), "share now must be"),
        (lambda: thin_down(1e-5, 0.2, 0.5), "share wanted must be"),
        (lambda: volume_share(0, 0), "parts of dye and alcohol must be above 0 together"),
        (lambda: evaporation(1e-5, 0.1, 0.003, float("nan")), "time must be"),
        (lambda: vapour_ppm(1e-5, 0), "room volume must be"),
    ],
)
def test_refusals(call: object, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        call()  # type: ignore[operator]
