"""``python -m passagework.web.demo_studio DIR``: fill an empty folder with the demo studio."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from passagework.studio.errors import StudioError
from passagework.web import words
from passagework.web.demo_studio.make import make_demo_studio


def main() -> int:
    """Fill the folder; gives the exit status."""
    parser = argparse.ArgumentParser(prog="passagework.web.demo_studio", description=__doc__)
    parser.add_argument("folder", metavar="DIR", type=Path)
    folder: Path = parser.parse_args().folder
    try:
        made = make_demo_studio(folder, words.today(), lambda line: print(line, file=sys.stderr))
    except StudioError as error:
        print(f"passagework: {error}", file=sys.stderr)
        return 1
    print(
        f"{folder}: {'the demo studio is made' if made else 'there is a studio already; it stays as it is'}"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
