"""Which engines, speeds and throttle openings are pinned?"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

CASES = Path(__file__).parents[2] / "cases"
FIDELITIES = ("wave", "filling")

#: Every shipped case, and a low, a middle and a high speed of it [rpm].
SPEEDS = {
    "coupe-v6": (1500.0, 3500.0, 5500.0),
    "delivery-six": (1200.0, 2800.0, 4400.0),
    "hill-climb-four": (3000.0, 5000.0, 7500.0),
    "lake-boat-v8": (2000.0, 4000.0, 5500.0),
    "teaching-single": (2000.0, 4000.0, 6500.0),
}

#: Every shipped part, as a swap on the case that it belongs to.
PARTS = {
    "delivery-six": (
        "cam=parts/cam-six-204.toml",
        "cam=parts/cam-six-214.toml",
        "cam=parts/cam-six-224.toml",
        "intake=parts/intake-long-runner.toml",
        "intake=parts/intake-short-runner.toml",
    ),
    "lake-boat-v8": (
        "cam=parts/cam-204.toml",
        "cam=parts/cam-214.toml",
        "cam=parts/cam-228.toml",
        "cam=parts/cam-school-long.toml",
        "cam=parts/cam-school-short.toml",
        "cam=parts/cam-school.toml",
        "intake=parts/intake-dual-plane.toml",
        "intake=parts/intake-single-plane.toml",
    ),
}

#: Light load: the throttle nearly closed, and partly; at the two lower speeds.
OPENINGS = (0.04, 0.15)


@dataclass(frozen=True)
class Pinned:
    """
    One engine whose results are pinned.

    Attributes
    ----------
    case : str
        Name of the shipped case.
    changes : tuple of str
        What is changed in it, as after ``--set``.
    fidelity : str
        Of its ducts.
    speeds : tuple of float
        Where it runs. [rpm]
    is_light : bool
        Whether it runs at part throttle.
    """

    case: str
    changes: tuple[str, ...]
    fidelity: str
    speeds: tuple[float, ...]
    is_light: bool = False

    @property
    def name(self) -> str:
        """What the file of pins calls it."""
        return ", ".join((self.case, *self.changes, self.fidelity))


def pinned() -> dict[str, Pinned]:
    """Every engine by its name."""
    found = []
    for fidelity in FIDELITIES:
        for case, speeds in SPEEDS.items():
            swaps = [(), *((part,) for part in PARTS.get(case, ()))]
            found += [Pinned(case, swap, fidelity, speeds) for swap in swaps]
            if case == "teaching-single":  # open stacks: it has no throttle
                continue
            found += [
                Pinned(case, (f"throttle.opening={part}",), fidelity, speeds[:2], is_light=True)
                for part in OPENINGS
            ]
    return {one.name: one for one in found}
