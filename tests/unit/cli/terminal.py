"""A terminal of a given width for a program to write on."""

import fcntl
import os
import pty
import re
import struct
import subprocess
import sys
import termios
from pathlib import Path

from tests.patience import PATIENCE

ROOT = Path(__file__).parents[3]


def on_terminal(arguments: list[str], width: int) -> str:
    """What a program writes on a terminal of some width, without its colours."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, width, 0, 0))
    known = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
    process = subprocess.Popen(
        [sys.executable, *arguments], cwd=ROOT, stdin=theirs, stdout=theirs, stderr=theirs,
        env={**known, "TERM": "xterm"},
    )  # fmt: skip
    os.close(theirs)
    text = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # all ends at the other side are closed
            break
        if not piece:
            break
        text += piece
    os.close(ours)
    assert process.wait(timeout=PATIENCE) == 0, text.decode()
    return re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", text.decode().replace("\r\n", "\n"))
