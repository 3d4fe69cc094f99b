"""By which names are the causes of a difference told: in sentences, in tables and in charts?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from enginesim.performance.attribution import GROUPS

if TYPE_CHECKING:
    from collections.abc import Mapping

#: What is shown of the causes: name, and the causes in it. Those of the filling come first.
SHOWN: Final[dict[str, tuple[str, ...]]] = {
    "size and air": ("size", "open_air"),
    "throttle and runner": ("throttle", "entry"),
    "heating": ("way_heat", "cylinder_heat"),
    "wave at closing": ("wave",),
    "intake valve": ("valve",),
    "residual gas": ("residual",),
    "backflow": ("backflow",),
    "burning": ("mixture", "burn"),
    "wall heat": ("walls",),
    "pumping": ("pumping",),
    "friction": ("friction",),
    "not split": ("unsplit",),
}

#: Names of `SHOWN` that make the filling.
FILLING: Final = tuple(name for name, causes in SHOWN.items() if causes[0] in GROUPS["filling"])


def share(parts: Mapping[str, float], name: str) -> float:
    """
    What a name stands for in one difference.

    Parameters
    ----------
    parts : mapping of str to float
        Share of each cause. [N m]
    name : str
        Key of `SHOWN`.

    Returns
    -------
    float
        Sum of its causes. [N m]
    """
    return sum(parts[cause] for cause in SHOWN[name])
