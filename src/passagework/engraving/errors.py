"""The one error of this room: music that could not be engraved."""

from __future__ import annotations


class EngravingError(Exception):
    """The engraver gave up, crashed or took too long; one sentence that a teacher can read."""
