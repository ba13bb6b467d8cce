"""What a limb is made of: wire metals and printed elastomers, SI and frozen."""

from __future__ import annotations

import math
from dataclasses import dataclass

from data.rules import check_choice, check_name, check_number, plain_numbers, refuse

MOST_BACK_STRESS = 0.4
REVERSALS = ("mixed", "isotropic", "masing")
"""How a wire yields when bent back: "isotropic" at its hardened stress, "masing" at its virgin one,
"mixed" isotropic with a transient back-stress."""
SOFTEST = 1e-3
"""Least saturation stress of an elastomer as a share of its modulus: what stops to be elastic at
a thousandth of strain is no elastomer, and hangs like a rope."""


@dataclass(frozen=True, kw_only=True)
class Metal:
    """A wire metal: sigma = E eps, then K eps^n from the crossing on (Hollomon).

    ``elastic_modulus`` and ``strength_coefficient`` [Pa], ``hardening_exponent`` (0 is
    elastic-perfectly-plastic), ``density`` [kg/m3]. With ``yield_stress`` [Pa] given the law is
    Ludwik's, sigma_y + K p^n over the plastic strain p. ``strength_factor`` (x/÷) and
    ``exponent_spread`` (+/-) are one standard deviation each. ``reversal`` is one of REVERSALS;
    ``back_stress``, 0 to 0.4, is the share of the flow stress at which the back-stress of "mixed"
    saturates, +/- ``back_stress_spread``.
    """

    name: str
    elastic_modulus: float
    strength_coefficient: float
    hardening_exponent: float
    density: float
    yield_stress: float | None = None
    strength_factor: float = 1.12
    exponent_spread: float = 0.02
    back_stress: float = 0.25
    back_stress_spread: float = 0.1
    reversal: str = "mixed"

    def __post_init__(self) -> None:
        check_name("metal name", self.name)
        check_number("metal elastic modulus", self.elastic_modulus, least=1e8, most=1e12, unit="Pa")
        check_number(
            "metal strength coefficient", self.strength_coefficient, least=1e5, most=1e10, unit="Pa"
        )
        check_number("metal hardening exponent", self.hardening_exponent, least=0.0, most=0.8)
        check_number("metal density", self.density, least=100.0, most=25000.0, unit="kg/m3")
        if self.yield_stress is not None:
            check_number("metal yield stress", self.yield_stress, least=1e5, most=1e10, unit="Pa")
        check_number("metal strength factor", self.strength_factor, least=1.0, most=3.0)
        check_number("metal exponent spread", self.exponent_spread, least=0.0, most=0.3)
        check_number("metal back stress", self.back_stress, least=0.0, most=MOST_BACK_STRESS)
        check_number("metal back stress spread", self.back_stress_spread, least=0.0, most=0.4)
        check_choice("metal reversal", self.reversal, REVERSALS)
        strongest = max(self.strength_coefficient, self.yield_stress or 0.0)
        if strongest > 0.2 * self.elastic_modulus:
            raise refuse("metal strength", "at most a fifth of the elastic modulus", strongest)
        plain_numbers(self)


@dataclass(frozen=True, kw_only=True)
class Elastomer:
    """A printed TPU: sigma = E eps / (1 + (E|eps|/saturation)^1.7)^(1/1.7).

    ``elastic_modulus`` [Pa] at small strain, ten seconds after loading; ``density`` [kg/m3];
    ``poisson_ratio``; ``saturation_stress`` [Pa], at least a thousandth of the modulus and
    ``math.inf`` for a linear one; ``relaxation_exponent`` m of E(t) = E(10 s) (t/10 s)^-m.
    ``modulus_factor`` (x/÷) and ``relaxation_spread`` (+/-) are one standard deviation each.
    """

    name: str
    elastic_modulus: float
    density: float
    poisson_ratio: float
    saturation_stress: float
    relaxation_exponent: float
    modulus_factor: float = 1.9
    relaxation_spread: float = 0.02

    def __post_init__(self) -> None:
        check_name("elastomer name", self.name)
        check_number(
            "elastomer elastic modulus", self.elastic_modulus, least=1e4, most=1e10, unit="Pa"
        )
        check_number("elastomer density", self.density, least=100.0, most=5000.0, unit="kg/m3")
        check_number("elastomer poisson ratio", self.poisson_ratio, least=0.0, below=0.5)
        unlimited = isinstance(self.saturation_stress, float) and math.isinf(self.saturation_stress)
        if not unlimited or self.saturation_stress < 0:
            least = max(1e4, SOFTEST * self.elastic_modulus)
            check_number(
                "elastomer saturation stress", self.saturation_stress, least=least, unit="Pa"
            )
        check_number("elastomer relaxation exponent", self.relaxation_exponent, least=0.0, most=0.4)
        check_number("elastomer modulus factor", self.modulus_factor, least=1.0, most=5.0)
        check_number("elastomer relaxation spread", self.relaxation_spread, least=0.0, most=0.2)
        plain_numbers(self)
