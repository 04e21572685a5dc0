"""The rows of the table of kinds (see `passagework.spots.kinds`)."""

from __future__ import annotations

from passagework.spots.kinds import Kind

KINDS: tuple[Kind, ...] = ()
