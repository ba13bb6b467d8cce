"""Several limbs as one figure: hands on where they are, what they take, whether it stands."""

from flexcalc.figure.figure import Body, Figure, FigureLimb, Place
from flexcalc.figure.standing import Standing, standing
from flexcalc.figure.totals import Totals, totals

__all__ = [
    "Body",
    "Figure",
    "FigureLimb",
    "Place",
    "Standing",
    "Totals",
    "standing",
    "totals",
]
