"""A simulated player: takes that sound human, with faults that are known, to test what is heard and to show it."""

from passagework.listening.simulate.play import Simulated, play

__all__ = ["Simulated", "play"]
