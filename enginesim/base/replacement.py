"""How is a file written whole or not at all, with the older one in place until then?"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """
    Place beside a file, to be written to; it becomes the file when the block ends well.

    Parameters
    ----------
    path : Path
        File that is made or replaced. Its folder must be there.

    Yields
    ------
    Path
        In the same folder, with a name that no other process has; nothing is there yet.

    Raises
    ------
    OSError
        If the place cannot be written; it names the file. Then, and after any other error within
        the block, the older file is as it was and nothing lies beside it.

    Notes
    -----
    What was written is on the disk before the name changes: after a power cut there is the older
    file or the whole new one.
    """
    # Not the file's own name in it: that may be as long as a name can be.
    aside = path.with_name(f".{os.getpid()}-{os.urandom(6).hex()}.part")
    try:
        yield aside
        with aside.open("rb+") as file:
            os.fsync(file.fileno())
        aside.replace(path)
    except OSError as error:
        if error.filename == str(aside):  # a name that means nothing to anybody
            error.filename = str(path)
        raise
    finally:
        aside.unlink(missing_ok=True)
