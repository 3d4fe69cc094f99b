"""Malformed calls of every command, drawn from a seed, and what is wrong with how they end."""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import random
import signal
import traceback
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from types import FrameType

from enginesim.cli.main import main
from tests.batteries.malformed_values import damaged, path, toml_value, value
from tests.patience import PATIENCE

CASES = Path(__file__).parents[1] / "cases"
SHIPPED = Path(__file__).parents[2] / "cases"
#: Documented: done, a file that could not be written, wrong input, no result.
CODES = {0, 1, 2, 3}
MOST = 30_000  # characters that a refusal may take: 20 problems in full, quoted input cut

_SINGLE = (CASES / "single.toml").read_text("utf-8")
_VEHICLE = (SHIPPED / "vehicles" / "estate.toml").read_text("utf-8")
_PART = 'layout = "single plenum"\nplenum_volume = "3 L"\nrunner_lengths = "60 mm"\n'
_STUDY = """case = "case.toml"
[[vary]]
field = "cam.lobe_separation"
values = "108, 112"
"""
_QUICK = ("--set", "numerics.fidelity=filling")
#: What every folder holds; nothing of it may change.
SOUND = {
    "case.toml": _SINGLE.encode(),
    "part.toml": _PART.encode(),
    "vehicle.toml": _VEHICLE.encode(),
    "study.toml": _STUDY.encode(),
    "weights.txt": b"2000 1\n3000 2\n",
    "empty.sqlite": b"",
    "notes.txt": b"Not a store.\n",
}


@dataclass
class Call:
    """
    One call.

    Attributes
    ----------
    words : list of str
        As typed; `{}` is the folder.
    files : dict of str to bytes
        What stands in the folder.
    """

    words: list[str]
    files: dict[str, bytes] = field(default_factory=lambda: dict(SOUND))


def call(seed: int, index: int) -> Call:
    """One call of a seed."""
    chance = random.Random(f"{seed}/{index}")
    return chance.choice(
        (_case, _case, _set, _set, _option, _option, _option, _target, _store, _part)
    )(chance)


def _case(chance: random.Random) -> Call:
    made = Call([chance.choice(("check", "run")), "{}/case.toml", *_QUICK, "--brief"])
    made.files["case.toml"] = damaged(_SINGLE, chance)
    if made.words[0] == "run":
        made.words += ["--rpm", "3000", "--no-store"]
    else:
        made.words.remove("--brief")
    return made


def _set(chance: random.Random) -> Call:
    words = ["check", "{}/case.toml"]
    for _ in range(chance.choice((1, 1, 2, 30))):
        words += [
            "--set",
            chance.choice(
                (
                    f"{path(chance)}={value(chance)}",
                    f"{path(chance)}={value(chance)}",
                    path(chance),
                    f"cam={value(chance)}",
                )
            ),
        ]
    return Call(words)


def _option(chance: random.Random) -> Call:
    case, odd = "{}/case.toml", value(chance)
    run = ["--rpm", "3000,4000", *_QUICK, "--no-store"]
    vary = ["--vary", "cam.lobe_separation=108,112"]
    sweep = ["sweep", case, *_QUICK, "--no-store", "--jobs", "1"]
    duty = ["sheet", case, "--kind", "injector", *run]
    made = Call(
        chance.choice(
            (
                ["run", case, *_QUICK, "--no-store", "--rpm", odd],
                ["run", case, *run, "--traces", odd],
                ["compare", case, *run, "--swap", f"{path(chance)}={odd}"],
                ["compare", case, *run, "--swap", "block.compression_ratio=9", "--window", odd],
                [
                    "compare",
                    case,
                    *run,
                    "--swap",
                    "block.compression_ratio=9",
                    "--weights",
                    "{}/weights.txt",
                ],
                [*sweep, "--rpm", "3000", "--vary", f"{path(chance)}={odd}"],
                [*sweep, "--rpm", odd, *vary],
                [*sweep, "--rpm", "3000", *vary, "--limit", odd],
                [*sweep, "--rpm", "3000", *vary, "--aim", odd],
                [*sweep, "--rpm", "3000", *vary, "--show", odd],
                [*sweep, "--rpm", "3000", *vary, "--link", f"{path(chance)}={odd}"],
                [
                    "sweep",
                    "{}/study.toml",
                    "--rpm",
                    "3000",
                    "--no-store",
                    "--jobs",
                    "1",
                    "--time-limit",
                    odd,
                ],
                [*duty, "--duty", odd],
                ["sheet", case, "--kind", "throttle", *run, "--sizes", odd],
                [
                    "accelerate",
                    case,
                    "--vehicle",
                    "{}/vehicle.toml",
                    *run,
                    "--set-vehicle",
                    f"mass={odd}",
                ],
                ["accelerate", case, "--vehicle", "{}/vehicle.toml", *run],
                ["store", "prune", "--store", "{}/s.sqlite", "--before", odd],
                ["new", "{}/new.toml", "--bore", odd],
                [odd or "x", case],
            )
        )
    )
    if made.words[-1] == "{}/weights.txt":
        made.files["weights.txt"] = chance.choice(
            (
                f"{odd} 1\n3000 {value(chance)}\n".encode("utf-8", "replace"),
                b"\xff\xfe\x00",
                b"",
                b"nan 1\n",
                b"2000 inf\n",
                b"2000 1\n" * 100_000,
            )
        )
    if "study.toml" in made.words[1]:
        made.files["study.toml"] = damaged(_STUDY, chance)
    if made.words[0] == "accelerate" and "--set-vehicle" not in made.words:
        made.files["vehicle.toml"] = damaged(_VEHICLE, chance)
    return made


def _target(chance: random.Random) -> Call:
    """Results written over what they were made from, over each other, or where none can be."""
    places = (
        "case.toml",
        "./case.toml",
        "part.toml",
        "vehicle.toml",
        "study.toml",
        "x" * 300,
        "",
        "none/\x01",
        "case.toml/x",
        "notes.txt/y.json",
        "same",
    )
    first, second = (f"{{}}/{chance.choice(places)}" for _ in range(2))
    run = ["--rpm", "3000,4000", *_QUICK, "--no-store"]
    with_part = ["--set", "intake={}/part.toml"]
    swap = ["--swap", "intake={}/part.toml"]
    study = ["sweep", "{}/study.toml", "--rpm", "3000", "--jobs", "1", "--no-store", *_QUICK]
    return Call(
        chance.choice(
            (
                ["run", "{}/case.toml", *run, *with_part, "--json", first],
                ["run", "{}/case.toml", *run, *with_part, "--csv", first, "--json", second],
                ["run", "{}/case.toml", *run, "--json", "{}/same", "--csv", "{}/same"],
                ["run", "{}/case.toml", *run, "--out", "{}/notes.txt"],
                ["compare", "{}/case.toml", *run, *swap, "--json", first],
                [
                    "compare",
                    "{}/case.toml",
                    *run,
                    *swap,
                    "--csv",
                    first,
                    "--weights",
                    "{}/weights.txt",
                ],
                [
                    "compare",
                    "{}/case.toml",
                    *run,
                    *swap,
                    "--csv",
                    "{}/weights.txt",
                    "--weights",
                    "{}/weights.txt",
                ],
                [*study, "--csv", first],
                [*study, "--log", first],
                [*study, "--log", first, "--csv", second],
                ["new", "{}/case.toml"],
            )
        )
    )


def _store(chance: random.Random) -> Call:
    store = chance.choice(
        ("empty.sqlite", "notes.txt", "case.toml", "none.sqlite", "", "x" * 300, "none/s.sqlite")
    )
    way = chance.choice(
        (
            ["list"],
            ["verify"],
            ["prune", "--failed", "--yes"],
            ["export", "{}/out.csv"],
            ["merge", "{}/empty.sqlite"],
            ["merge", "{}/notes.txt"],
            ["export", "{}/case.toml"],
        )
    )
    if chance.random() < 0.2:
        return Call(["run", "{}/case.toml", "--rpm", "3000", *_QUICK, "--store", f"{{}}/{store}"])
    return Call(["store", *way, "--store", f"{{}}/{store}"])


def _part(chance: random.Random) -> Call:
    made = Call(["check", "{}/case.toml", "--set", "intake={}/part.toml"])
    made.files["part.toml"] = damaged(_PART, chance)
    if chance.random() < 0.3:
        made.files["part.toml"] = f'cam = "part.toml"\nname = {toml_value(chance)}\n'.encode(
            "utf-8", "replace"
        )
    return made


class _HangError(BaseException):
    """Out of reach of `except Exception`."""


@contextlib.contextmanager
def _guarded() -> Iterator[None]:
    def give_up(_number: int, _frame: FrameType | None) -> None:
        raise _HangError

    before = signal.signal(signal.SIGALRM, give_up)
    signal.alarm(int(PATIENCE))
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def faults(made: Call, folder: Path) -> list[str]:
    """Make a call in a folder of its own; everything that is wrong with how it ended, in words."""
    for name, data in made.files.items():
        (folder / name).write_bytes(data)
    words = [word.replace("{}", str(folder)) for word in made.words]
    quiet, found = io.StringIO(), []
    code: object = None
    before, here = _contents(folder), Path.cwd()
    try:
        os.chdir(folder)
        with _guarded(), contextlib.redirect_stdout(quiet), contextlib.redirect_stderr(quiet):
            code = main(words)
    except _HangError:
        return [f"no end within {PATIENCE:g} s"]
    except BaseException as error:  # noqa: BLE001 - a traceback of any kind is a fault
        place = traceback.extract_tb(error.__traceback__)[-1]
        what = f"{type(error).__name__}: {str(error)[:200]}"
        return [f"traceback: {what} [{place.filename}:{place.lineno}]"]
    finally:
        os.chdir(here)
    said = quiet.getvalue()
    if code not in CODES:
        found.append(f"exit code {code}")
    if "Traceback (most recent call last)" in said:
        found.append("shows a traceback")
    if code == 2 and len(said) > MOST:
        found.append(f"{len(said)} characters of refusal")
    if code == 2 and not said.strip():
        found.append("refused without a word")
    if any(sign in said for sign in "\x1b\x7f\x85\x00"):
        found.append("control characters reach the terminal")
    after = _contents(folder)
    targets = _targets(made.words)
    free = {name for name in targets if not _is_input(made.words, name)}
    if code == 0 and len(targets) > len(set(targets)):
        found.append(f"wrote {', '.join(targets)}")
    if made.words[0] == "run":
        free.add("empty.sqlite")  # a new store may begin in an empty file
    changed = [n for n, digest in before.items() if after.get(n) != digest and n not in free]
    if changed:
        found.append(f"changed {', '.join(changed)}")
    new = after.keys() - before.keys()
    if code == 2 and new:
        found.append(f"refused, and left {', '.join(sorted(new))[:100]}")
    return found


def _targets(words: list[str]) -> list[str]:
    """Files that a call names as places of its results."""
    options = ("--json", "--csv", "--log", "export")
    return [_name(word) for before, word in pairwise(words) if before in options]


def _is_input(words: list[str], name: str) -> bool:
    """Whether a call reads a file, so that it may not replace it."""
    others = [
        _name(b) for a, b in pairwise(words) if a not in ("--json", "--csv", "--log", "export")
    ]
    if "study.toml" in others:
        others.append("case.toml")
    return any(word.partition("=")[2] == name or word == name for word in others)


def _name(word: str) -> str:
    return word.replace("{}/", "").removeprefix("./")


def _contents(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }
