"""Wire gauges.

AWG: the closed form of ASTM B258 (standard from memory; the same formula read on three pages),
computed to seven digits. SWG: inch values of the Imperial Standard Wire Gauge from memory, 0 to
26 agreeing with a table that was read.
"""

from __future__ import annotations

import pytest

from flexcalc.limb.gauge import gauge_diameter

AWG_MM = {
    4: 5.189396, 5: 4.621291, 6: 4.115378, 7: 3.66485, 8: 3.263643, 9: 2.906358, 10: 2.588187,
    11: 2.304847, 12: 2.052525, 13: 1.827827, 14: 1.627727, 15: 1.449532, 16: 1.290846,
    17: 1.149531, 18: 1.023687, 19: 0.91162, 20: 0.811821, 21: 0.722947, 22: 0.643803,
    23: 0.573323, 24: 0.510559, 25: 0.454666, 26: 0.404892, 27: 0.360567, 28: 0.321094,
    29: 0.285942, 30: 0.254639,
}  # fmt: skip
SWG_MM = {
    0: 8.2296, 1: 7.62, 2: 7.0104, 3: 6.4008, 4: 5.8928, 5: 5.3848, 6: 4.8768, 7: 4.4704,
    8: 4.064, 9: 3.6576, 10: 3.2512, 11: 2.9464, 12: 2.6416, 13: 2.3368, 14: 2.032, 15: 1.8288,
    16: 1.6256, 17: 1.4224, 18: 1.2192, 19: 1.016, 20: 0.9144, 21: 0.8128, 22: 0.7112,
    23: 0.6096, 24: 0.5588, 25: 0.508, 26: 0.4572, 27: 0.41656, 28: 0.37592, 29: 0.34544,
    30: 0.31496,
}  # fmt: skip


@pytest.mark.parametrize(("number", "diameter"), AWG_MM.items())
def test_awg(number: int, diameter: float) -> None:
    # Two of the printed values have six digits: half the last one there.
    assert gauge_diameter("AWG", number) * 1e3 == pytest.approx(diameter, rel=1e-6, abs=6e-7)


@pytest.mark.parametrize(("number", "diameter"), SWG_MM.items())
def test_swg(number: int, diameter: float) -> None:
    assert gauge_diameter("SWG", number) * 1e3 == pytest.approx(diameter, abs=1e-6)


def test_awg_heavy_sizes() -> None:
    """4/0 is 0.46 inch by definition, 36 is 0.005 inch (ASTM B258, from memory)."""
    assert gauge_diameter("AWG", -3) == pytest.approx(0.46 * 0.0254, rel=1e-12)
    assert gauge_diameter("AWG", 36) == pytest.approx(0.005 * 0.0254, rel=1e-12)
