"""A terminal to run a command on: what is typed into it, and what it shows."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from pathlib import Path

from tests.patience import PATIENCE

ROOT = Path(__file__).parents[2]
_END = "\x04"  # typed when the answers run out, so that a question too many does not wait for ever


def on_terminal(arguments: list[str], *answers: str, code: int = 0) -> str:
    """What a terminal shows while the answers are typed into it, line by line."""
    ours, theirs = pty.openpty()
    program = [sys.executable, "-m", "enginesim.cli.main", *arguments]
    process = subprocess.Popen(program, cwd=ROOT, stdin=theirs, stdout=theirs, stderr=theirs)
    os.close(theirs)
    os.write(ours, ("".join(f"{answer}\n" for answer in answers) + _END).encode())
    text = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:
            break
        if not piece:
            break
        text += piece
    os.close(ours)
    assert process.wait(timeout=PATIENCE) == code, text.decode()
    return text.decode()
