"""Passagework: a piano piece prepared for one student, with its evidence shown."""

__version__ = "0.1.0"
