"""A rod under dead loads: hands on the shape at which a whole batch of chains comes to rest."""

from flexcalc.rod.rest import RestShape, rest_shape

__all__ = [
    "RestShape",
    "rest_shape",
]
