"""Where a studio's folder is when nobody names one."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path

NAME = "passagework"


def default_folder(
    environ: Mapping[str, str] | None = None, platform: str = sys.platform, home: Path | None = None
) -> Path:
    """The folder for a person's own data on this system.

    XDG Base Directory Specification 0.8 on Unix; the folders that Apple and Microsoft name on theirs.
    """
    environ = os.environ if environ is None else environ
    home = home or Path.home()
    if platform == "win32":
        return Path(environ.get("LOCALAPPDATA") or home / "AppData" / "Local") / NAME
    if platform == "darwin":
        return home / "Library" / "Application Support" / NAME
    named = environ.get("XDG_DATA_HOME", "")
    # The specification has relative paths ignored.
    return (Path(named) if Path(named).is_absolute() else home / ".local" / "share") / NAME
