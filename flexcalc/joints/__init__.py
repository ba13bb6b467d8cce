"""Joints of a limb, each with a history of its own: bent, let go, loaded, bent again."""
