"""A limb from its own mesh: triangles in, line and sections, the mesh with its channel out."""

from flexcalc.mesh.reading import read_surface
from flexcalc.mesh.surface import Health, Surface, surface_health

__all__ = ["Health", "Surface", "read_surface", "surface_health"]
