"""Pictures to scale, as SVG: a limb, its section, its bends at 1:1, its mesh, the whole figure."""
