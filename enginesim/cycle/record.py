"""What is known about one engine cycle at one speed, and what does each number of it mean?

Angles: `theta` counts the crank's turning from the firing top dead centre of cylinder 1, over the
two turns of a four-stroke cycle. Cylinder `i` has its own firing top dead centre at `phase[i]`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from enginesim.base.errors import ResultError
from enginesim.base.quantity import quantities, quantity, unknown

if TYPE_CHECKING:
    from enginesim.case.tree import Case

Samples: TypeAlias = NDArray[np.float64]

_TURNING = "(cylinder, sample)"
_EACH = "(cylinder,)"
_PLACES = "(volume, sample)"
_CELLS = "(cell, sample)"


@dataclass(frozen=True, eq=False, slots=True)
class Tract:
    """
    The way from a cylinder's valve to the plenum or to the open air, cell by cell.

    Attributes
    ----------
    name : str
        Such as ``intake 1``.
    side : str
        ``intake`` or ``exhaust``.
    cylinder : int
        Index of the cylinder, from 0.
    cells : ndarray, shape (n,)
        Rows of the record's duct channels, ordered from the valve outwards.
    distance : ndarray, shape (n,)
        Centre of each cell, measured along the tract from the valve. [m]
    marks : tuple of (str, float)
        Name of each joint on the way and its distance from the valve [m], the far end last.
    """

    name: str
    side: str
    cylinder: int
    cells: NDArray[np.int64]
    distance: Samples
    marks: tuple[tuple[str, float], ...]


@dataclass(frozen=True, eq=False, kw_only=True, slots=True, repr=False)
class CycleRecord:
    """
    Last cycle of a simulation at one speed: channels over crank angle, integrals, audit.

    Fields are attributes; ``record["pressure"]`` asks by name and knows the nearest one.
    :func:`enginesim.base.quantity.quantities` lists the unit and definition of each.
    """

    rpm: float = quantity("rpm", "engine speed", "Turns of the crank per minute.")
    theta: Samples = quantity(
        "rad",
        "crank angle",
        "Crank angle since the firing top dead centre of cylinder 1: 0 to 4 pi, both included.",
        shape="(sample,)",
    )
    phase: Samples = quantity(
        "rad",
        "firing top dead centre",
        "Crank angle of the cylinder's firing top dead centre.",
        shape=_EACH,
    )
    cylinder_names: tuple[str, ...] = quantity("", "cylinders", "Name of each cylinder.")

    pressure: Samples = quantity(
        "Pa", "cylinder pressure", "Absolute pressure in the cylinder.", shape=_TURNING
    )
    volume: Samples = quantity(
        "m3", "cylinder volume", "Volume of the cylinder, clearance included.", shape=_TURNING
    )
    temperature: Samples = quantity(
        "K",
        "gas temperature",
        "Mass-averaged temperature of the gas in the cylinder.",
        shape=_TURNING,
    )
    temperature_unburned: Samples = quantity(
        "K", "unburned temperature", "Temperature of the gas ahead of the flame.", shape=_TURNING
    )
    mass: Samples = quantity("kg", "cylinder mass", "Mass of gas in the cylinder.", shape=_TURNING)
    burned_fraction: Samples = quantity(
        "-",
        "burned fraction",
        "Part of the trapped charge that the flame has passed since the spark.",
        shape=_TURNING,
    )
    intake_flow: Samples = quantity(
        "kg/s",
        "intake valve flow",
        "Mass flow through the intake valves, into the cylinder.",
        shape=_TURNING,
    )
    exhaust_flow: Samples = quantity(
        "kg/s",
        "exhaust valve flow",
        "Mass flow through the exhaust valves, out of the cylinder.",
        shape=_TURNING,
    )
    heat_rate: Samples = quantity(
        "W", "wall heat", "Heat flow from the gas to piston, head and liner.", shape=_TURNING
    )
    knock_integral: Samples = quantity(
        "-",
        "knock integral",
        "Part of the ignition delay of the unburned gas that is used up; knock at 1.",
        shape=_TURNING,
    )

    volume_pressure: Samples = quantity(
        "Pa", "pressure in a volume", "Pressure in each plenum, merge and muffler.", shape=_PLACES
    )
    volume_temperature: Samples = quantity(
        "K", "temperature in a volume", "Gas temperature in the same places.", shape=_PLACES
    )
    volume_names: tuple[str, ...] = quantity("", "volumes", "Name of each volume.")
    duct_names: tuple[str, ...] = quantity("", "ducts", "Name of each duct.")

    work: Samples = quantity(
        "J", "net work", "Work of the gas on the piston over the whole cycle.", shape=_EACH
    )
    work_gross: Samples = quantity(
        "J",
        "gross work",
        "Work of the gas on the piston over the compression and expansion strokes.",
        shape=_EACH,
    )
    air_in: Samples = quantity(
        "kg", "air", "Air through the intake valves, net, per cycle.", shape=_EACH
    )
    fuel_in: Samples = quantity(
        "kg",
        "fuel",
        "Fuel given to the cylinder per cycle, vapour and liquid, by whatever way.",
        shape=_EACH,
    )
    fuel_burned: Samples = quantity(
        "kg", "fuel burned", "Fuel turned into burned gas per cycle.", shape=_EACH
    )
    air_ambient: float = quantity("kg", "air drawn", "Air drawn from the open air per cycle.")
    fuel_ambient: float = quantity(
        "kg", "fuel delivered", "Fuel delivered per cycle, all cylinders."
    )
    exhaust_mass: float = quantity(
        "kg", "exhaust mass", "Mass out through all exhaust valves per cycle, net."
    )
    exhaust_enthalpy: float = quantity(
        "J",
        "exhaust enthalpy",
        "Enthalpy that it carried, on the gas tables' datum, heat of unburned fuel included.",
    )
    trapped_mass: Samples = quantity(
        "kg",
        "trapped mass",
        "Mass of gas in the cylinder when its intake valves have closed.",
        shape=_EACH,
    )
    residual_fraction: Samples = quantity(
        "-",
        "residual",
        "Burned gas in the trapped mass at the closing of the intake valves.",
        shape=_EACH,
    )
    short_circuit: Samples = quantity(
        "kg",
        "short-circuited charge",
        "Fresh charge that left by the exhaust valves unburned.",
        shape=_EACH,
    )
    heat_walls: Samples = quantity(
        "J", "wall heat", "Heat from the gas to piston, head and liner per cycle.", shape=_EACH
    )
    blow_by: float = quantity(
        "kg", "blow-by", "Gas lost past the pistons per cycle, all cylinders; 0 where left out."
    )
    spark: float = quantity("rad", "spark advance", "Spark before firing top dead centre.")
    ca10: Samples = quantity(
        "rad",
        "10 % burned",
        "Crank angle after firing top dead centre of 10 % burned.",
        shape=_EACH,
    )
    ca50: Samples = quantity(
        "rad",
        "50 % burned",
        "Crank angle after firing top dead centre of 50 % burned.",
        shape=_EACH,
    )
    ca90: Samples = quantity(
        "rad",
        "90 % burned",
        "Crank angle after firing top dead centre of 90 % burned.",
        shape=_EACH,
    )
    knock_margin: float = quantity(
        "rad",
        "knock margin",
        "Spark advance that could be added before the worst cylinder knocks; negative: it knocks.",
    )

    converged: bool = quantity("", "converged", "Whether the cycles have become periodic.")
    ending: str = quantity("", "ending", "Periodic, alternating, unsteady or not periodic.")
    swing: Samples = quantity(
        "J",
        "swing of the work",
        "What a strong or weak cycle does more than the mean; 0 where they do not alternate.",
        shape=_EACH,
    )
    status: str = quantity("", "status", "One sentence: how the simulation ended.")
    convergence: tuple[tuple[float, float], ...] = quantity(
        "",
        "convergence",
        "For each cycle run: mean effective pressure [Pa] and imbalance of mass [-].",
    )
    cycles: int = quantity("-", "cycles", "Cycles run until the end.")
    steps: int = quantity("-", "steps", "Time steps of all cycles.")
    rejected: int = quantity(
        "-", "rejected steps", "Steps that were repeated with half the length."
    )
    mass_error: float = quantity(
        "-", "mass error", "Gap in the last cycle's book-keeping of mass over the air drawn."
    )
    energy_error: float = quantity(
        "-", "energy error", "Gap in the last cycle's book-keeping of energy over the fuel's heat."
    )
    imbalance: float = quantity(
        "-",
        "imbalance",
        "Largest gain of mass of any volume over the last cycle, relative to what went through.",
    )

    intake_lift: Samples | None = quantity(
        "m", "intake valve lift", "Lift of the intake valves.", shape=_TURNING, default=None
    )
    exhaust_lift: Samples | None = quantity(
        "m", "exhaust valve lift", "Lift of the exhaust valves.", shape=_TURNING, default=None
    )
    intake_area: Samples | None = quantity(
        "m2",
        "intake effective area",
        "Flow coefficient times area of the cylinder's intake valves together.",
        shape=_TURNING,
        default=None,
    )
    port_pressure: Samples | None = quantity(
        "Pa",
        "intake port pressure",
        "Static pressure in the duct cell next to the intake valves; none where there is no duct.",
        shape=_TURNING,
        default=None,
    )
    port_velocity: Samples | None = quantity(
        "m/s",
        "intake port velocity",
        "Gas velocity in the same cell, towards the valves.",
        shape=_TURNING,
        default=None,
    )
    port_temperature: Samples | None = quantity(
        "K",
        "intake port temperature",
        "Gas temperature in the same cell.",
        shape=_TURNING,
        default=None,
    )
    duct_pressure: Samples | None = quantity(
        "Pa", "duct pressure", "Static pressure; only with traces.", shape=_CELLS, default=None
    )
    duct_velocity: Samples | None = quantity(
        "m/s",
        "duct velocity",
        "Gas velocity, positive along the duct; only with traces.",
        shape=_CELLS,
        default=None,
    )
    duct_temperature: Samples | None = quantity(
        "K", "duct temperature", "Gas temperature; only with traces.", shape=_CELLS, default=None
    )
    tracts: tuple[Tract, ...] = quantity(
        "",
        "tracts",
        "Ways from each valve outwards through the ducts; only with traces.",
        default=(),
    )
    case: Case | None = quantity(
        "", "case", "The engine that was simulated; none in an invented record.", default=None
    )

    def __repr__(self) -> str:
        name = "no case" if self.case is None else repr(self.case.name)
        cells = "" if self.duct_pressure is None else ", with traces"
        return f"<CycleRecord {name} at {self.rpm:g} rpm: {self.status}{cells}>"

    def __getitem__(self, name: str) -> Any:
        if name not in quantities(type(self)):
            raise unknown(type(self), name)
        return getattr(self, name)

    def cylinder_angle(self, cylinder: int) -> Samples:
        """
        Crank angle from one cylinder's own firing top dead centre.

        Parameters
        ----------
        cylinder : int
            Index of the cylinder, from 0. [-]

        Returns
        -------
        ndarray, shape (sample,)
            From -2 pi up to 2 pi, not sorted; combustion lies about 0. [rad]
        """
        angle: Samples = (self.theta - self.phase[cylinder] + 2 * np.pi) % (4 * np.pi) - 2 * np.pi
        return angle

    def of_cylinder(self, name: str, cylinder: int) -> tuple[Samples, Samples]:
        """
        A cylinder's channel ordered by its own crank angle, combustion in the middle.

        Parameters
        ----------
        name : str
            Channel, such as ``pressure``.
        cylinder : int
            Index of the cylinder, from 0. [-]

        Returns
        -------
        angle : ndarray, shape (sample,)
            Crank angle from the cylinder's firing top dead centre, -2 pi to 2 pi. [rad]
        values : ndarray, shape (sample,)
            The channel, in its own SI unit; last sample equal to the first. [-]

        Raises
        ------
        ResultError
            If there is no such channel, or it was not kept.
        """
        values: Samples | None = self[name]
        if values is None or np.shape(values) != self.pressure.shape:
            raise ResultError(
                f"record at {self.rpm:g} rpm: found no channel {name!r} of a cylinder"
            )
        angle = self.cylinder_angle(cylinder)[:-1]
        order = np.argsort(angle, kind="stable")
        turned: Samples = values[cylinder, :-1][order]
        own = angle[order]
        return np.append(own, own[0] + 4 * np.pi), np.append(turned, turned[0])
