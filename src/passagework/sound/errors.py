"""What can go wrong in this room."""

from __future__ import annotations


class SoundError(Exception):
    """Sound cannot be made; the message says why and what to do."""
