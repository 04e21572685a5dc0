"""Write the demo pieces of Passagework as MusicXML: ``python tools/compose_demo.py [FOLDER]``.

The music was composed for this project and stands in ``demo_music/`` in the shorthand that
``demo_music/shorthand.py`` describes.
"""

from __future__ import annotations

import sys
from pathlib import Path

from demo_music import evening_ferry, lamplighter, paper_boat
from demo_music.layout import lay_out
from demo_music.musicxml import write
from demo_music.shorthand import read

PIECES = {
    "evening-ferry": evening_ferry.MUSIC,
    "lamplighter": lamplighter.MUSIC,
    "paper-boat": paper_boat.MUSIC,
}
FOLDER = Path(__file__).resolve().parent.parent / "src" / "passagework" / "demo"


def main(folder: Path) -> None:
    """Write every demo piece into ``folder``."""
    for name, music in PIECES.items():
        score = read(music)
        lay_out(score)
        (folder / f"{name}.musicxml").write_bytes(write(score))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
