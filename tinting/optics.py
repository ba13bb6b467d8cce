"""The optics that the dyed skin is made of, one formula each.

Two-flux theory (Kubelka and Munk 1931, Kubelka 1948): diffuse light in a flat layer, absorption
K and scattering S per unit thickness. Saunderson (1942) adds the surface between plastic and
air: ``external_reflection`` k1 from outside, ``internal_reflection`` k2 of diffuse light from
inside. All reflectances are shares from 0 to 1; arguments broadcast.
"""

from __future__ import annotations

import numpy as np

from data import read_table
from data.rules import check_number, check_numbers
from tinting.inputs import Array, check_shapes

_SURFACE = read_table("constants")["tpu surface"]
EXTERNAL_REFLECTION = _SURFACE["external_reflection"].value
INTERNAL_REFLECTION = _SURFACE["internal_reflection"].value
_LARGEST = 1e9


def measured_reflectance(
    internal: object,
    specular: float,
    external_reflection: float = EXTERNAL_REFLECTION,
    internal_reflection: float = INTERNAL_REFLECTION,
) -> Array:
    """Return what an instrument reads of a body with this reflectance under its surface.

    Parameters
    ----------
    internal : array_like
        Reflectance of the body as seen from inside, 0 to 1.
    specular : float
        Share of the surface reflection that the reading holds, 0 (gloss excluded) to k1.
    external_reflection, internal_reflection : float
        k1 and k2 of the surface, 0 to below 1.

    Notes
    -----
    Source: Saunderson (1942), R = ks + (1 - k1)(1 - k2) r / (1 - k2 r).
    """
    body = check_numbers("internal reflectance", internal, least=0.0, most=1.0)
    ks, k1, k2 = _surface(specular, external_reflection, internal_reflection)
    read: Array = ks + (1 - k1) * (1 - k2) * body / (1 - k2 * body)
    return read[()]


def internal_reflectance(
    measured: object,
    specular: float,
    external_reflection: float = EXTERNAL_REFLECTION,
    internal_reflection: float = INTERNAL_REFLECTION,
) -> Array:
    """Return the reflectance under the surface from the reading, inverse of the above.

    A reading above ``specular + 1 - k1`` gives more than 1: it cannot come from this surface.
    A reading below ``specular`` is refused.
    """
    ks, k1, k2 = _surface(specular, external_reflection, internal_reflection)
    read = check_numbers("measured reflectance", measured, least=ks, most=1.0)
    body: Array = (read - ks) / ((1 - k1) * (1 - k2) + k2 * (read - ks))
    return body[()]


def fresnel_reflection(refractive_index: float) -> tuple[float, float, float]:
    """Return (k1 at right angles, k1 of diffuse light, k2 of diffuse light from inside).

    ``refractive_index`` from 1 to 4. Source: Fresnel's equations integrated over a Lambertian
    hemisphere by Gauss-Legendre (64 points); k2 by the étendue, 1 - k2 = (1 - k1) / n².
    """
    n = check_number("refractive index", refractive_index, least=1.0, most=4.0)
    nodes, shares = np.polynomial.legendre.leggauss(64)
    angle = (nodes + 1) * np.pi / 4
    inside = np.sqrt(n**2 - np.sin(angle) ** 2)
    across = ((np.cos(angle) - inside) / (np.cos(angle) + inside)) ** 2
    along = ((n**2 * np.cos(angle) - inside) / (n**2 * np.cos(angle) + inside)) ** 2
    k1 = float(np.pi / 4 * shares @ ((across + along) / 2 * np.sin(2 * angle)))
    return ((n - 1) / (n + 1)) ** 2, k1, 1 - (1 - k1) / n**2


def absorption_ratio(reflectance: object) -> Array:
    """Return K/S of a body so thick that nothing shows through, reflectance 1e-12 to 1."""
    body = check_numbers("reflectance", reflectance, least=1e-12, most=1.0)
    ratio: Array = (1 - body) ** 2 / (2 * body)
    return ratio[()]


def thick_reflectance(absorption_ratio: object) -> Array:
    """Return the reflectance of a thick body from K/S, inverse of `absorption_ratio`."""
    ratio = check_numbers("K/S", absorption_ratio, least=0.0, most=1e12)
    # 1 + q - sqrt(q² + 2q) would cancel for dark bodies
    body: Array = 1 / (1 + ratio + np.sqrt(ratio * (ratio + 2)))
    return body[()]


def finite_layer(
    absorption: object, scattering: object, thickness: object, backing: object
) -> Array:
    """Return the reflectance of a layer over a backing.

    Parameters
    ----------
    absorption, scattering : array_like
        K and S. [1/length]
    thickness : array_like
        X. [length]
    backing : array_like
        Reflectance of what lies behind, in optical contact.

    Notes
    -----
    Source: Kubelka (1948), hyperbolic solution, written so that K = 0, S = 0, X = 0 and thick
    layers come out exact: R = [s (1 - Rg s/(s + k + β)) + Rg δ] / [s (1 - Rg) + k + β + δ] with
    k = KX, s = SX, β² = k (k + 2s), δ = 2β/(e^2β - 1).
    """
    k, s, beta, fading, rounded = _layer(absorption, scattering, thickness)
    behind = check_numbers("backing reflectance", backing, least=0.0, most=1.0)
    check_shapes("layer and backing", k, s, behind)
    delta = fading / rounded
    # where s + k + β is 0, so is s, and the ratio does not matter
    shaded = s / np.maximum(s + k + beta, 1e-300)
    top = s * (1 - behind * shaded) + behind * delta
    reflectance: Array = top / (s * (1 - behind) + k + beta + delta)
    return reflectance[()]


def layer_transmittance(absorption: object, scattering: object, thickness: object) -> Array:
    """Return the share of diffuse light that a layer lets through, arguments as above.

    Source: Kubelka (1948), T = b / (a sinh bSX + b cosh bSX).
    """
    k, s, beta, fading, rounded = _layer(absorption, scattering, thickness)
    passed: Array = np.exp(-beta) / ((s + k) * rounded + (1 + fading) / 2)
    return passed[()]


def stacked_reflectance(reflectance: object, transmittance: object, backing: object) -> Array:
    """Return the reflectance of a layer of known R and T over a backing.

    Source: Kubelka (1954), R1 + T1² Rg / (1 - R1 Rg).
    """
    r1 = check_numbers("layer reflectance", reflectance, least=0.0, most=1.0)
    t1 = check_numbers("layer transmittance", transmittance, least=0.0, most=1.0)
    behind = check_numbers("backing reflectance", backing, least=0.0, most=1 - 1e-9)
    check_shapes("layer and backing", r1, t1, behind)
    stacked: Array = r1 + t1**2 * behind / (1 - r1 * behind)
    return stacked[()]


def contrast_ratio(
    absorption: object,
    scattering: object,
    thickness: object,
    white: float = 0.8,
    black: float = 0.0,
) -> Array:
    """Return the opacity of a layer: reflectance over black by reflectance over white.

    The usual convention takes backings of 0 and 0.80. 1 hides everything.
    """
    light = check_number("white backing", white, above=0.0, most=1.0)
    dark = check_number("black backing", black, least=0.0, below=light)
    over_white = finite_layer(absorption, scattering, thickness, light)
    over_black = finite_layer(absorption, scattering, thickness, dark)
    # a layer so black that nothing comes back hides its backing fully
    ratio = np.where(over_white > 0, over_black / np.maximum(over_white, 1e-300), 1.0)
    return ratio[()]


def absorbance(extinction: float, concentration: float, path: float) -> float:
    """Return the decadic absorbance of a solution, A = ε c l (Beer-Lambert).

    Units that cancel, such as L/(mol cm), mol/L and cm.
    """
    return (
        check_number("extinction", extinction, least=0.0, most=_LARGEST)
        * check_number("concentration", concentration, least=0.0, most=_LARGEST)
        * check_number("path", path, least=0.0, most=_LARGEST)
    )


def transmittance(absorbance: object) -> Array:
    """Return the share of light that passes, 10^-A."""
    passed: Array = 10.0 ** -check_numbers("absorbance", absorbance, least=0.0, most=_LARGEST)
    return passed[()]


def double_pass_reflectance(
    measured: object, absorbance: object, specular: float, path_factor: float = 2.0
) -> Array:
    """Return the reading of a base under a clear dyed film, inside the surface.

    Parameters
    ----------
    measured : array_like
        Reading of the bare base.
    absorbance : array_like
        Decadic absorbance of the film, one pass at right angles.
    specular : float
        Share of the surface reflection in both readings.
    path_factor : float
        Mean way of diffuse light by thickness; 2 is the convention of two-flux theory.

    Notes
    -----
    Source: Saunderson (1942) with the film inside the surface, r t² in place of r.
    """
    factor = check_number("path factor", path_factor, least=1.0, most=4.0)
    passed = np.asarray(transmittance(absorbance) ** (2 * factor))
    body = np.asarray(internal_reflectance(measured, specular))
    check_shapes("measured reflectance and absorbance", body, passed)
    return measured_reflectance(body * passed, specular)


def _surface(specular: float, external: float, internal: float) -> tuple[float, float, float]:
    k1 = check_number("external reflection", external, least=0.0, below=1.0)
    k2 = check_number("internal reflection", internal, least=0.0, below=1.0)
    return check_number("specular", specular, least=0.0, most=k1), k1, k2


def _layer(
    absorption: object, scattering: object, thickness: object
) -> tuple[Array, Array, Array, Array, Array]:
    """(k, s, β, e^-2β, (1 - e^-2β)/2β), the last one 1 where β is 0."""
    depth = check_numbers("thickness", thickness, least=0.0, most=_LARGEST)
    k = check_numbers("absorption", absorption, least=0.0, most=_LARGEST)
    s = check_numbers("scattering", scattering, least=0.0, most=_LARGEST)
    check_shapes("absorption, scattering and thickness", k, s, depth)
    k, s = k * depth, s * depth
    beta = np.sqrt(k) * np.sqrt(k + 2 * s)
    held = np.maximum(beta, 1e-150)
    return k, s, beta, np.exp(-2 * beta), -np.expm1(-2 * held) / (2 * held)
