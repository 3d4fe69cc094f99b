"""Of which ducts, volumes and links does an engine consist, before any of them is meshed?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
EndKind = Literal["closed", "valve", "volume", "ambient"]
Side = Literal["intake", "exhaust"]

#: Cells of the shortest duct: in two every cell is an end, and a log of such pipes fills its engine
#: by 5 % too little at low speed (decision 0029) [-].
LEAST_CELLS = 3


@dataclass(frozen=True, eq=False)
class Section:
    """
    A stretch of duct.

    Attributes
    ----------
    length : float
        Along the centre line. [m]
    area : ndarray, shape (k,)
        Cross-sections at equal distances from its start to its end. [m2]
    wall_temperature : float
        [K]
    roughness : float
        Height of the wall's roughness. [m]
    loss : float
        Loss coefficient of its bends, spread along it, on the local velocity head. [-]
    """

    length: float
    area: Array
    wall_temperature: float
    roughness: float = 5e-5
    loss: float = 0.0


def pipe(
    length: float,
    diameters: Sequence[float],
    wall_temperature: float,
    roughness: float = 5e-5,
    loss: float = 0.0,
) -> Section:
    """
    A stretch of round pipe, straight-sided between equally spaced diameters.

    Parameters
    ----------
    length : float
        Along the centre line. [m]
    diameters : sequence of float
        One for a plain pipe, more from start to end. [m]
    wall_temperature : float
        Wall. [K]
    roughness : float
        Height of the wall's roughness. [m]
    loss : float
        Loss coefficient of its bends. [-]

    Returns
    -------
    Section
        The stretch.
    """
    given = np.atleast_1d(np.asarray(diameters, dtype=float))
    if len(given) == 1:
        given = np.repeat(given, 2)
    places = np.linspace(0.0, 1.0, len(given))
    fine = np.interp(np.linspace(0.0, 1.0, 8 * (len(given) - 1) + 1), places, given)
    return Section(length, 0.25 * math.pi * fine**2, wall_temperature, roughness, loss)


@dataclass(frozen=True)
class End:
    """
    What one end of a duct meets.

    Attributes
    ----------
    kind : str
        "closed", "valve", "volume" or "ambient".
    target : int
        Index of the cylinder or of the reservoir.
    side : str
        Which valves of the cylinder.
    ratio_out, ratio_in : float
        Effective area over duct area for gas that leaves and enters the duct; a valve's come
        from its table. [-]
    injects : bool
        Whether fuel is injected at this valve.
    evaporated : float
        Fraction of that fuel that evaporates in the port. [-]
    """

    kind: EndKind = "closed"
    target: int = 0
    side: Side = "intake"
    ratio_out: float = 1.0
    ratio_in: float = 1.0
    injects: bool = False
    evaporated: float = 0.0


@dataclass(frozen=True, eq=False)
class Duct:
    """
    A duct: sections one behind the other, and what its two ends meet.

    Attributes
    ----------
    name : str
        What messages call it.
    sections : tuple of Section
        From start to finish.
    start, finish : End
        What the ends meet.
    cell_size : float
        Wanted length of a cell. [m]
    p, t, y_b, y_f : float
        State at the beginning: pressure [Pa], temperature [K], burned and fuel fraction. [-]
    least_cells : int
        Fewest cells. [-]
    """

    name: str
    sections: tuple[Section, ...]
    start: End
    finish: End
    cell_size: float
    p: float = 101325.0
    t: float = 300.0
    y_b: float = 0.0
    y_f: float = 0.0
    least_cells: int = LEAST_CELLS

    @property
    def length(self) -> float:
        """Along the centre line. [m]."""
        return sum(section.length for section in self.sections)


@dataclass(frozen=True)
class Wall:
    """
    Walls of a duct that is taken as one volume.

    Attributes
    ----------
    temperature : float
        Mean over what a flow would exchange with each cell. [K]
    way : float
        Wall over cross-section, summed along the duct. [-]
    still : float
        Wall over diameter, summed along the duct. [m]
    reach : float
        Diameter over cross-section, mean. [1/m]
    rough_fourth : float
        Fully rough friction factor to the fourth power, mean. [-]
    """

    temperature: float
    way: float
    still: float
    reach: float
    rough_fourth: float


@dataclass(frozen=True)
class Volume:
    """
    A vessel, or, with no volume, the open air: it keeps its state whatever flows.

    Attributes
    ----------
    name : str
        What messages call it.
    volume : float
        0 for the open air. [m3]
    p, t, y_b, y_f : float
        State at the beginning: pressure [Pa], temperature [K], burned and fuel fraction. [-]
    wall : Wall or None
        What heats the gas in it.
    """

    name: str
    volume: float
    p: float = 101325.0
    t: float = 300.0
    y_b: float = 0.0
    y_f: float = 0.0
    wall: Wall | None = None


@dataclass(frozen=True)
class Link:
    """
    An orifice between two volumes, or between a volume and a cylinder's valves.

    Attributes
    ----------
    name : str
        What messages call it.
    start, finish : int
        Reservoirs that it joins; with a valve `finish` is the cylinder.
    area, area_back : float
        Effective area forward and back. [m2]
    fuel : float
        Fraction of the mixture's fuel that evaporates in the air passing forward. [-]
    valve : str or None
        "intake" or "exhaust" if it is a valve.
    """

    name: str
    start: int
    finish: int
    area: float = 0.0
    area_back: float = 0.0
    fuel: float = 0.0
    valve: Side | None = None


@dataclass
class Plan:
    """
    All pieces of an engine's gas ways; indices are places in these lists.

    Attributes
    ----------
    ducts, volumes, links : list
        The pieces.
    n_cylinders : int
        How many cylinders the valves may name.
    """

    ducts: list[Duct] = field(default_factory=list)
    volumes: list[Volume] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    n_cylinders: int = 0

    def add_volume(self, volume: Volume) -> int:
        """
        Add a volume.

        Parameters
        ----------
        volume : Volume
            The vessel or open air.

        Returns
        -------
        int
            Its index.
        """
        self.volumes.append(volume)
        return len(self.volumes) - 1
