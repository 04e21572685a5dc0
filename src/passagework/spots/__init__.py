"""Where it will go wrong: one module for each kind of difficulty, one table of kinds, one scale."""

from passagework.spots.context import Context
from passagework.spots.find import find_candidates, find_spots
from passagework.spots.spot import Candidate, Evidence, Place, Spot, Wording

__all__ = [
    "Candidate",
    "Context",
    "Evidence",
    "Place",
    "Spot",
    "Wording",
    "find_candidates",
    "find_spots",
]
