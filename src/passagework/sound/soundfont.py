"""Where the sound of the piano comes from: a soundfont (SF2), given or the one that is installed.

The installed one is a file that the package `pretty_midi` carries: TimGM6mb, a General MIDI set of 6 MB. It is found there
and not copied, and the package is not imported; the file has a licence of its own, to be looked up before it is passed
on. A better piano can be given as the bytes of any SF2 file.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from passagework.sound.errors import SoundError

PACKAGE = "pretty_midi"
_MISSING = "no soundfont is installed: install passagework with its sound, or give the file of an SF2 soundfont"


@lru_cache(maxsize=1)
def installed_soundfont() -> bytes:
    """The bytes of the installed soundfont. Raises `SoundError` where there is none."""
    try:
        files = distribution(PACKAGE).files or []
    except PackageNotFoundError:
        raise SoundError(_MISSING) from None
    for entry in files:
        if entry.suffix.lower() == ".sf2":
            path = Path(str(entry.locate()))
            if path.is_file():
                return path.read_bytes()
    raise SoundError(_MISSING)


def checked(soundfont: bytes) -> bytes:
    """`soundfont` itself. Raises `SoundError` where it is no SF2 file."""
    if soundfont[:4] != b"RIFF" or soundfont[8:12] != b"sfbk":
        raise SoundError("the soundfont is not an SF2 file; give a file that ends in .sf2")
    return soundfont
