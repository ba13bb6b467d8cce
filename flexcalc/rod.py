"""The limb as a rod that rests under its own weight and a load at its tip."""

from __future__ import annotations

from flexcalc.chain import ChainShape as ChainShape
from flexcalc.chain import ElasticLaw as ElasticLaw
from flexcalc.chain import solve_chain as solve_chain
