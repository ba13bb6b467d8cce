"""The figure page: limbs and tint of one figure kept together, looked at whole, and printed."""
