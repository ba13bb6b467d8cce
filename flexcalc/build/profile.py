"""Flat profiles of test pieces, for the solids' library."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray


def polygon_profile(ring: NDArray[np.float64]) -> Any:
    """Return a profile in mm: the solids' library counts lengths below 1e-6 as nothing."""
    from manifold3d import CrossSection, FillRule

    return CrossSection([np.asarray(ring, float) * 1e3], FillRule.NonZero)


def rectangle_profile(left: float, low: float, right: float, high: float) -> Any:
    """Return a rectangle from (left, low) to (right, high). [m]"""
    return polygon_profile(np.array([[left, low], [right, low], [right, high], [left, high]]))


def cut_profile(profile: Any, cuts: Sequence[Any]) -> Any:
    """Return a profile without what the cuts cover."""
    for cut in cuts:
        profile = profile - cut
    return profile


def joined_profile(parts: Sequence[Any]) -> Any:
    """Return all profiles as one."""
    whole = parts[0]
    for part in parts[1:]:
        whole = whole + part
    return whole
