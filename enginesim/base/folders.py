"""Where on this machine lives what can be rebuilt?"""

from __future__ import annotations

import os
import sys
from pathlib import Path


def cache_root() -> Path:
    """
    Folder that holds everything which can be rebuilt: compiled kernels and gas tables.

    Returns
    -------
    Path
        ``$ENGINESIM_CACHE`` if set, else ``enginesim`` in the user's cache folder.
    """
    chosen = os.environ.get("ENGINESIM_CACHE")
    if chosen:
        return Path(chosen)
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return base / "enginesim"
