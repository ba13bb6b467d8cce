"""What a limb is made of: wire metals and printed elastomers, SI and frozen."""

from __future__ import annotations

import math
from dataclasses import InitVar, dataclass, field

from data import read_table
from data.rules import check_choice, check_name, check_number, plain_numbers, refuse

MOST_BACK_STRESS = 0.6
MOST_MODULUS_FACTOR, MOST_STRENGTH_FACTOR, MOST_SATURATION_FACTOR = 5.0, 3.0, 5.0
MODEL_FACTORS, MOST_MODEL_DEVIATION = (0.1, 10.0), 2.0
YIELD_OFFSET, MOST_EXPONENT = 0.002, 0.8
REVERSALS = ("mixed", "isotropic", "masing")
"""How a wire yields when bent back: "isotropic" at its hardened stress, "masing" at its virgin one,
"mixed" isotropic with a transient back-stress."""
SOFTEST = 1e-3
"""Least saturation stress of an elastomer as a share of its modulus: what stops to be elastic at
a thousandth of strain is no elastomer, and hangs like a rope."""


@dataclass(frozen=True, kw_only=True)
class Metal:
    """A wire metal: sigma = E eps, then K eps^n from the crossing on (Hollomon).

    ``elastic_modulus`` [Pa], ``density`` [kg/m3]. The law is given in exactly one of three ways:
    by ``yield_strength`` at ``yield_offset`` of plastic strain and engineering
    ``tensile_strength`` [Pa] of one and the same wire, see `hardening_constants`; by
    ``strength_coefficient`` K [Pa] and ``hardening_exponent`` n (0 is elastic-perfectly-plastic);
    or by these two with ``yield_stress`` [Pa], which is Ludwik's law, sigma_y + K p^n over the
    plastic strain p. A metal is its K and n: the two strengths are not kept.

    ``strength_factor`` (x/÷) and ``exponent_spread`` (+/-) are one standard deviation each.
    ``reversal`` is one of REVERSALS; ``back_stress``, 0 to 0.6, is the share of the flow stress at
    which the back-stress of "mixed" saturates, +/- ``back_stress_spread``. What lets the surface
    of a wire yield backwards before its inside is cut off: above 0.57 for n = 0.355 (copper).
    """

    name: str
    elastic_modulus: float
    density: float
    yield_strength: InitVar[float | None] = None
    tensile_strength: InitVar[float | None] = None
    yield_offset: InitVar[float] = YIELD_OFFSET
    strength_coefficient: float = None  # type: ignore[assignment]  # worked out where left out
    hardening_exponent: float = None  # type: ignore[assignment]
    yield_stress: float | None = None
    strength_factor: float = 1.12
    exponent_spread: float = 0.02
    back_stress: float = 0.25
    back_stress_spread: float = 0.1
    reversal: str = "mixed"

    def __post_init__(
        self, yield_strength: float | None, tensile_strength: float | None, yield_offset: float
    ) -> None:
        check_name("metal name", self.name)
        check_number("metal elastic modulus", self.elastic_modulus, least=1e8, most=1e12, unit="Pa")
        self._take_strengths(yield_strength, tensile_strength, yield_offset)
        check_number(
            "metal strength coefficient", self.strength_coefficient, least=1e5, most=1e10, unit="Pa"
        )
        check_number("metal hardening exponent", self.hardening_exponent, least=0.0, most=0.8)
        check_number("metal density", self.density, least=100.0, most=25000.0, unit="kg/m3")
        if self.yield_stress is not None:
            check_number("metal yield stress", self.yield_stress, least=1e5, most=1e10, unit="Pa")
        widest = MOST_STRENGTH_FACTOR
        check_number("metal strength factor", self.strength_factor, least=1.0, most=widest)
        check_number("metal exponent spread", self.exponent_spread, least=0.0, most=0.3)
        check_number("metal back stress", self.back_stress, least=0.0, most=MOST_BACK_STRESS)
        check_number("metal back stress spread", self.back_stress_spread, least=0.0, most=0.4)
        check_choice("metal reversal", self.reversal, REVERSALS)
        strongest = max(self.strength_coefficient, self.yield_stress or 0.0)
        if strongest > 0.2 * self.elastic_modulus:
            raise refuse("metal strength", "at most a fifth of the elastic modulus", strongest)
        plain_numbers(self)

    def _take_strengths(self, yielding: object, tensile: object, offset: object) -> None:
        """Work K and n out of yield and tensile strength where these are given."""
        check_number("metal yield offset", offset, least=1e-5, most=0.02)
        law = (self.strength_coefficient, self.hardening_exponent)
        given = [
            name
            for name, value in (
                ("yield strength", yielding),
                ("tensile strength", tensile),
                ("strength coefficient", law[0]),
                ("hardening exponent", law[1]),
                ("yield stress", self.yield_stress),
            )
            if value is not None
        ]
        if given == ["yield strength", "tensile strength"]:
            law = hardening_constants(self.elastic_modulus, yielding, tensile, offset)
            object.__setattr__(self, "strength_coefficient", law[0])
            object.__setattr__(self, "hardening_exponent", law[1])
        elif given[:2] != ["strength coefficient", "hardening exponent"]:
            rule = (
                "given by yield and tensile strength, or by strength coefficient and hardening "
                "exponent, with a yield stress or without"
            )
            raise refuse("metal strength", rule, ", ".join(given) or "neither")


def hardening_constants(
    elastic_modulus: float, yield_strength: object, tensile_strength: object, offset: object
) -> tuple[float, float]:
    """Return K and n of sigma = K eps^n through a metal's yield and tensile strength.

    Parameters
    ----------
    elastic_modulus : float
        [Pa]
    yield_strength, tensile_strength : float
        Of one and the same metal, from one table; the second is engineering stress. [Pa]
    offset : float
        Plastic strain at which the yield strength was read, 0.002 as a rule.

    Returns
    -------
    tuple of float
        K [Pa] and n.

    Raises
    ------
    ValueError
        For a tensile strength below the yield strength, or so far above it that n is over 0.8.

    Notes
    -----
    n ln(n/(e eps_y)) = ln(UTS/S_y) with eps_y = S_y/E + offset, and K = S_y/eps_y^n.

    Source: the curve through (eps_y, S_y) and Considere's condition, UTS = K (n/e)^n.
    """
    from scipy.optimize import brentq

    soft = check_number("metal yield strength", yield_strength, least=1e5, most=1e10, unit="Pa")
    plastic = check_number("metal yield offset", offset, least=1e-5, most=0.02)
    strain = soft / elastic_modulus + plastic

    def logarithm(exponent: float) -> float:
        return exponent * (math.log(exponent / strain) - 1)

    if math.e * strain >= MOST_EXPONENT:
        raise refuse("metal yield strength", "less: it yields within elastic strains", soft)
    most = soft * math.exp(logarithm(MOST_EXPONENT))
    strong = check_number("metal tensile strength", tensile_strength, least=soft, most=most)
    n = float(
        brentq(
            lambda exponent: logarithm(exponent) - math.log(strong / soft),
            math.e * strain,
            MOST_EXPONENT,
            xtol=1e-15,
            rtol=1e-14,
        )
    )
    return float(soft / strain**n), n


def model_deviation() -> float:
    """Return the deviation of the logarithm by which the model misses wire over elastomer."""
    row = read_table("constants")["model"]["wire_over_elastomer"]
    return math.log(row.high / row.low) / 2


@dataclass(frozen=True, kw_only=True)
class Elastomer:
    """A printed TPU: sigma = E eps / (1 + (E|eps|/saturation)^1.7)^(1/1.7).

    ``elastic_modulus`` [Pa] at small strain, ten seconds after loading; ``density`` [kg/m3];
    ``poisson_ratio``; ``saturation_stress`` [Pa], at least a thousandth of the modulus and
    ``math.inf`` for a linear one; ``relaxation_exponent`` m of E(t) = E(10 s) (t/10 s)^-m.
    ``modulus_factor`` and ``saturation_factor`` (x/÷) and ``relaxation_spread`` (+/-) are one
    standard deviation each.
    ``model_factor``: wire over elastomer in limbs of it, in truth over the model's, and
    ``model_deviation`` one standard deviation of its logarithm: the model's own error, until a
    limb was bent and measured.
    """

    name: str
    elastic_modulus: float
    density: float
    poisson_ratio: float
    saturation_stress: float
    relaxation_exponent: float
    modulus_factor: float = 1.9
    relaxation_spread: float = 0.02
    model_factor: float = 1.0
    model_deviation: float = field(default_factory=lambda: model_deviation())
    saturation_factor: float = 1.4

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
        widest = MOST_MODULUS_FACTOR
        check_number("elastomer modulus factor", self.modulus_factor, least=1.0, most=widest)
        widest = MOST_SATURATION_FACTOR
        check_number("elastomer saturation factor", self.saturation_factor, least=1.0, most=widest)
        check_number("elastomer relaxation spread", self.relaxation_spread, least=0.0, most=0.2)
        least, most = MODEL_FACTORS
        check_number("elastomer model factor", self.model_factor, least=least, most=most)
        deviation = self.model_deviation
        check_number("elastomer model deviation", deviation, least=0.0, most=MOST_MODEL_DEVIATION)
        plain_numbers(self)
