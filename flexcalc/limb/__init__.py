"""What a maker has: outlines, materials, wires, gauges, printers; hands on a checked limb."""

from flexcalc.limb.along import Along
from flexcalc.limb.gauge import gauge_diameter, parse_length
from flexcalc.limb.inputs import Bend, Elastomer, Limb, Metal, Setting, Wire
from flexcalc.limb.materials import elastomer_names, load_elastomer, load_metal, metal_names
from flexcalc.limb.outline import DShape, Ellipse, Polygon, Round, RoundedRectangle
from flexcalc.limb.printer import Printer

__all__ = [
    "Along",
    "Bend",
    "DShape",
    "Elastomer",
    "Ellipse",
    "Limb",
    "Metal",
    "Polygon",
    "Printer",
    "Round",
    "RoundedRectangle",
    "Setting",
    "Wire",
    "elastomer_names",
    "gauge_diameter",
    "load_elastomer",
    "load_metal",
    "metal_names",
    "parse_length",
]
