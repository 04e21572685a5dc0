"""``python -m passagework`` is the command ``passagework``."""

from passagework.cli import entry

entry()
