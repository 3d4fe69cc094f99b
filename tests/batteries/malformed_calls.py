"""Malformed calls of every command, drawn from a seed."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from pathlib import Path

from tests.batteries.malformed_values import ODD, damaged, path, toml_value, value

CASES = Path(__file__).parents[1] / "cases"
SHIPPED = Path(__file__).parents[2] / "cases"

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
    has_pipe : bool
        Whether a pipe stands there too, that nobody writes into.
    """

    words: list[str]
    files: dict[str, bytes] = field(default_factory=lambda: dict(SOUND))
    has_pipe: bool = False


def call(seed: int, index: int) -> Call:
    """One call of a seed."""
    chance = random.Random(f"{seed}/{index}")
    return chance.choice(
        (_case, _case, _set, _set, _option, _option, _option, _target, _store, _part, _named, _pipe)
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


def _named(chance: random.Random) -> Call:
    """A name that a terminal, a spreadsheet or a store takes for something else."""
    odd = "".join(chance.choice((*ODD, "a", "V8 ", "+", "-3")) for _ in range(chance.randint(1, 8)))
    quoted = odd.replace("\\", "\\\\").replace('"', '\\"')
    run = ["{}/case.toml", "--rpm", "3000,4000", *_QUICK]
    made = Call(
        chance.choice(
            (
                ["check", "{}/case.toml"],
                ["run", *run, "--store", "{}/s.sqlite", "--json", "{}/new.json"],
                ["compare", *run, "--swap", f"name={odd}", "--no-store", "--csv", "{}/new.csv"],
            )
        )
    )
    made.files["case.toml"] = f'name = "{quoted}"\n{_SINGLE}'.replace(
        _SINGLE, _SINGLE.partition("\n")[2]
    ).encode("utf-8", "surrogatepass")
    return made


def _pipe(chance: random.Random) -> Call:
    """A pipe that nobody writes into, where a file is expected."""
    run = ["--rpm", "3000,4000", *_QUICK, "--no-store"]
    return Call(
        chance.choice(
            (
                ["check", "{}/pipe"],
                ["check", "{}/case.toml", "--set", "intake={}/pipe"],
                ["compare", "{}/case.toml", "{}/case.toml", *run, "--weights", "{}/pipe"],
                ["accelerate", "{}/case.toml", *run, "--vehicle", "{}/pipe"],
                ["sweep", "{}/pipe", *run],
                ["store", "list", "--store", "{}/pipe"],
                ["run", "{}/case.toml", *run, "--json", "{}/pipe"],
            )
        ),
        dict(SOUND),
        has_pipe=True,
    )
