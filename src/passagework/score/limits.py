"""What a score file may ask of us: a file from the internet is hostile until it is read.

The numbers are far above what music needs: the longest piano works printed (a complete set of
variations or a fantasy of forty minutes) hold about 30,000 notes in 1,500 bars and 25 MB of MusicXML.
"""

from __future__ import annotations

from typing import Final

MAX_FILE_BYTES: Final = 60_000_000
"""Largest file handed to a parser, compressed or not."""

MAX_ARCHIVE_MEMBERS: Final = 200
"""Entries in an `.mxl` archive; pictures and thumbnails make up a handful in practice."""

MAX_DEPTH: Final = 60
"""Nesting of elements; MusicXML and MEI stay below 25."""

MAX_ELEMENTS: Final = 3_000_000
"""Elements in a tree; 15 to 20 belong to a note."""

MAX_NOTES: Final = 60_000
"""Notes and rests read."""

MAX_BARS: Final = 6_000

MAX_DIVISIONS: Final = 10_000_000
"""Ticks to a quarter after tuplets of every kind in the piece are made exact."""

MAX_QUARTERS: Final = 1_000
"""Longest single duration believed, in quarters; longer ones are nonsense in the file."""
