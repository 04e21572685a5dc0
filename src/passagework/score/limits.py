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

MAX_ELEMENTS: Final = 1_500_000
"""Elements in a tree; 15 to 20 belong to a note. The parser itself refuses deep nesting."""

MAX_ATTRIBUTES: Final = 4_000_000
"""Attributes in a tree; positions on the page make four to a note."""

MAX_NOTES: Final = 60_000
"""Notes and rests read."""

MAX_BARS: Final = 6_000

MAX_DIVISIONS: Final = 100_000_000
"""Ticks to a quarter after tuplets of every kind in the piece are made exact: groups of 3, 5, 7, 9, 11
and 13 with 64ths need 720,720; a whole note still fits in 32 bits."""

MAX_QUARTERS: Final = 1_000
"""Longest single duration believed, in quarters; longer ones are nonsense in the file."""

MAX_STAVES: Final = 8
"""Staves of one keyboard part. Single-staff parts are read as its staves up to this number; more than
that is an orchestra, not a reduction."""

MAX_CONVERTED_BYTES: Final = 12_000_000
"""Largest file handed to a converter of another format, which needs some 2 seconds for each megabyte of
MEI; the longest movements are half as large."""

MAX_CONVERTED_TOKENS: Final = 120_000
"""Tokens of a Humdrum file handed to the converter; a long sonata movement has 30,000."""

MAX_SPINES: Final = 64
"""Humdrum spines in one line; piano music in many voices with its dynamics uses a dozen."""

MAX_MIDI_BYTES: Final = 5_000_000
"""Largest MIDI file read; an hour of a recorded piano with its pedal is under 1 MB."""

MAX_TICK: Final = 1 << 34
"""Latest tick believed; clocks of a thousand ticks a quarter reach it after months."""
