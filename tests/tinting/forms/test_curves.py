"""Curves of a dye: against the tint of each share, the swatches as read, and fits of fewer rows."""

from __future__ import annotations

import numpy as np
import pytest

from data import FOLDER
from tinting.colour.colorimetry import lab
from tinting.colour.difference import delta_e
from tinting.forms.choices import Choices
from tinting.forms.curves import band_growth, dilution_curve, painted_alone
from tinting.learn.advice import next_swatch
from tinting.learn.learned import learn
from tinting.log.record import SwatchRecord
from tinting.log.table import read_csv
from tinting.skin.demo import demo_base, demo_dyes
from tinting.skin.dyed import tint


@pytest.fixture(scope="module")
def records() -> list[SwatchRecord]:
    return list(read_csv((FOLDER / "demo" / "swatches.csv").read_bytes()).records)


def test_a_dilution_curve_is_the_tint_of_each_share_and_rises() -> None:
    dye, base = demo_dyes()[0], demo_base()
    curve = dilution_curve(Choices(), base, dye, 2)
    for point in (curve[0], curve[-1]):
        shown = tint(base, [(dye, point.share)], 2).lab()
        assert point.away == pytest.approx(float(delta_e(shown, lab(base.reflectance))))
    away = [point.away for point in curve]
    assert away == sorted(away) and all(point.low < point.away < point.high for point in curve)
    assert [point.share for point in curve] == sorted(point.share for point in curve)


def test_swatches_stand_where_they_were_read(records: list[SwatchRecord]) -> None:
    learned = learn(records)
    (base,) = learned.bases.values()
    found = painted_alone(learned, base, "reed green")
    assert [(each.share, each.coats) for each in found] == [(0.125, 3), (0.5, 5), (0.125, 1)]
    read = delta_e(np.array([68.0, -23.1, 30.2]), lab(base.reflectance))
    assert found[0].away == pytest.approx(float(read))
    assert painted_alone(learned, base, "slate blue") == ()
    assert painted_alone(Choices().learned, base, "reed green") == ()


def test_the_growth_of_a_band_is_that_of_fits_to_fewer_rows(records: list[SwatchRecord]) -> None:
    growth = band_growth(records, "Reed  green (learned)")
    assert growth is not None and growth.dye == "reed green"
    assert [each.swatches for each in growth.counts] == [1, 2, 3]
    for each in growth.counts:
        (fit,) = learn(records[: each.swatches]).fits
        assert each.radius == pytest.approx(next_swatch(fit, "reed green").radius)
    assert growth.counts[-1].radius < growth.counts[0].radius
    assert growth.next.expected_radius < growth.counts[-1].radius
    assert band_growth(records, "slate blue") is None and band_growth([], "reed green") is None
