"""The centreline of a limb: a first way through the body, what of it is one limb, its ends."""
