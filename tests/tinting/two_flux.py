"""Two-flux theory as a second route: the layer over any backing and the surface, unabridged.

The program computes a dyed skin by one rearranged formula (`tinting.skin.layer`); here stand the
separate steps, as Kubelka and Munk (1931), Kubelka (1948, 1954) and Saunderson (1942) have them.
"""

from __future__ import annotations

from typing import Any

import numpy as np

K1, K2 = 0.04, 0.6


def measured_reflectance(inside: Any, specular: float, k1: float = K1, k2: float = K2) -> Any:
    """Saunderson (1942): R = ks + (1 - k1)(1 - k2) r / (1 - k2 r)."""
    return specular + (1 - k1) * (1 - k2) * inside / (1 - k2 * inside)


def internal_reflectance(measured: Any, specular: float, k1: float = K1, k2: float = K2) -> Any:
    """The inverse of `measured_reflectance`."""
    read = measured - specular
    return read / ((1 - k1) * (1 - k2) + k2 * read)


def absorption_ratio(reflectance: Any) -> Any:
    """K/S of a body so thick that nothing shows through."""
    return (1 - reflectance) ** 2 / (2 * reflectance)


def thick_reflectance(ratio: Any) -> Any:
    """The inverse of `absorption_ratio`."""
    return 1 + ratio - np.sqrt(ratio**2 + 2 * ratio)


def finite_layer(absorption: float, scattering: float, thickness: float, backing: float) -> float:
    """Kubelka (1948): (1 - Rg (a - b coth bSX)) / (a - Rg + b coth bSX), and its two limits."""
    k, s = absorption * thickness, scattering * thickness
    if s == 0:
        return float(backing * np.exp(-2 * k))
    if k == 0:
        return (backing + s * (1 - backing)) / (1 + s * (1 - backing))
    a = 1 + k / s
    b = np.sqrt(a**2 - 1)
    turned = b / np.tanh(b * s)
    return float((1 - backing * (a - turned)) / (a - backing + turned))


def layer_transmittance(absorption: float, scattering: float, thickness: float) -> float:
    """Kubelka (1948): b / (a sinh bSX + b cosh bSX)."""
    a = 1 + absorption / scattering
    b = np.sqrt(a**2 - 1)
    depth = b * scattering * thickness
    return float(b / (a * np.sinh(depth) + b * np.cosh(depth)))


def stacked_reflectance(reflectance: float, transmittance: float, backing: float) -> float:
    """Kubelka (1954): R1 + T1² Rg / (1 - R1 Rg)."""
    return reflectance + transmittance**2 * backing / (1 - reflectance * backing)


def fresnel_reflection(n: float) -> tuple[float, float, float]:
    """(k1 at right angles, k1 of diffuse light, k2 of diffuse light from inside).

    Fresnel's equations over a Lambertian hemisphere by Gauss-Legendre; k2 by the étendue,
    1 - k2 = (1 - k1) / n².
    """
    nodes, shares = np.polynomial.legendre.leggauss(64)
    angle = (nodes + 1) * np.pi / 4
    inside = np.sqrt(n**2 - np.sin(angle) ** 2)
    across = ((np.cos(angle) - inside) / (np.cos(angle) + inside)) ** 2
    along = ((n**2 * np.cos(angle) - inside) / (n**2 * np.cos(angle) + inside)) ** 2
    k1 = float(np.pi / 4 * shares @ ((across + along) / 2 * np.sin(2 * angle)))
    return ((n - 1) / (n + 1)) ** 2, k1, 1 - (1 - k1) / n**2
