"""A limb from its own mesh: triangles in, line and sections, the mesh with its channel out."""

from flexcalc.mesh.along import LimbShape, limb_along, limb_shape
from flexcalc.mesh.centreline.line import Line, limb_centreline
from flexcalc.mesh.channel.bore import bore, bored_limb
from flexcalc.mesh.channel.pieces import bored_sample, mirrored
from flexcalc.mesh.channel.proof import Bored
from flexcalc.mesh.channel.roomiest import roomiest_line
from flexcalc.mesh.files.reading import read_surface
from flexcalc.mesh.hand import Hand, hand_beyond, printed_mass
from flexcalc.mesh.slices import Slices, limb_slices
from flexcalc.mesh.surface import Health, Surface, surface_health
from flexcalc.mesh.view import View, ends_of, few_triangles, side_view
from flexcalc.mesh.whole import MeshLimb, bending_up, mesh_limb

__all__ = [
    "Bored",
    "Hand",
    "Health",
    "LimbShape",
    "Line",
    "MeshLimb",
    "Slices",
    "Surface",
    "View",
    "bending_up",
    "bore",
    "bored_limb",
    "bored_sample",
    "ends_of",
    "few_triangles",
    "hand_beyond",
    "limb_along",
    "limb_centreline",
    "limb_shape",
    "limb_slices",
    "mesh_limb",
    "mirrored",
    "printed_mass",
    "read_surface",
    "roomiest_line",
    "side_view",
    "surface_health",
]
