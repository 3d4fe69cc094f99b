"""Which keys do the commands' files have, and with which codes do commands end?"""

from __future__ import annotations

import contextlib
import csv
import io
import json
from pathlib import Path
from typing import Any

from enginesim.cli.main import main

SINGLE = Path(__file__).parents[1] / "cases" / "single.toml"
_RUN = ("--rpm", "3000,4000", "--set", "numerics.fidelity=filling", "--no-store")
_VARY = ("--vary", "cam.lobe_separation=108,112", "--aim", "average torque")

#: Commands that write files: `{}` is the folder.
WRITING = {
    "run": ("run", "{case}", *_RUN, "--json", "{}/run.json", "--csv", "{}/run.csv"),
    "compare": (
        "compare", "{case}", "--swap", "block.compression_ratio=9", *_RUN,
        "--json", "{}/compare.json", "--csv", "{}/compare.csv",
    ),
    "sweep": ("sweep", "{case}", *_VARY, *_RUN, "--csv", "{}/sweep.csv", "--jobs", "1"),
    "store": (
        "run", "{case}", *_RUN[:-1], "--store", "{}/s.sqlite",
    ),
    "store export": ("store", "export", "{}/store.csv", "--store", "{}/s.sqlite"),
}  # fmt: skip

#: Commands and what they are, for their exit codes.
ENDING = {
    "an unknown command": ("frobnicate",),
    "an unknown option": ("run", "{case}", "--frobnicate"),
    "no such case": ("run", "{}/none.toml"),
    "a contradiction": ("check", "{case}", "--set", "block.stroke=500 mm"),
    "check": ("check", "{case}", "--brief"),
    "run": ("run", "{case}", *_RUN, "--brief"),
    "nothing periodic": (
        "run", "{case}", *_RUN, "--set", "numerics.max_cycles=3", "--brief",
    ),
    "no good engine": ("sweep", "{case}", *_VARY, *_RUN, "--limit", "overlap <= -300 deg",
                       "--jobs", "1"),
    "a file that cannot be written": ("run", "{case}", *_RUN, "--csv", "{case}/run.csv"),
    "no such swap": ("compare", "{case}", "--swap", "block.frobnicate=9", *_RUN),
    "a store that is none": ("store", "verify", "--store", "{case}"),
}  # fmt: skip


def exit_code(words: tuple[str, ...], folder: Path) -> int:
    """How a command ends, its words filled in; what it shows is left out."""
    filled = [word.replace("{case}", str(SINGLE)).replace("{}", str(folder)) for word in words]
    quiet = io.StringIO()
    with contextlib.redirect_stdout(quiet), contextlib.redirect_stderr(quiet):
        return main(filled)


def exit_codes(folder: Path) -> dict[str, int]:
    """How each command of `ENDING` ends."""
    return {name: exit_code(words, folder) for name, words in ENDING.items()}


def keys(folder: Path) -> dict[str, list[str]]:
    """Keys of every file that the commands of `WRITING` write into a folder."""
    for name, words in WRITING.items():
        code = exit_code(words, folder)
        if code:
            msg = f"{name} ended with {code}"
            raise RuntimeError(msg)
    found = {}
    for path in sorted(folder.iterdir()):
        if path.suffix == ".json":
            found[path.name] = sorted(_paths(json.loads(path.read_text("utf-8"))))
        if path.suffix == ".csv":
            with path.open(encoding="utf-8", newline="") as file:
                found[path.name] = next(csv.reader(file))
    return found


def _paths(value: Any, at: str = "") -> set[str]:
    """Dotted keys of a JSON value; members of a list together."""
    if isinstance(value, dict):
        inner = [_paths(v, f"{at}.{key}" if at else key) for key, v in value.items()]
        return set().union(*inner) or {at}
    if isinstance(value, list):
        return set().union(*(_paths(member, f"{at}[]") for member in value)) or {at}
    return {at}
