"""A rod under dead loads: hands on the shape at which a whole batch of chains comes to rest."""

from flexcalc.rod.rest import RestShape, rest_shape
from flexcalc.rod.space import RestShapeInSpace, rest_shape_in_space

__all__ = [
    "RestShape",
    "RestShapeInSpace",
    "rest_shape",
    "rest_shape_in_space",
]
