"""The case: every input of a simulation, SI inside, with what was assumed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields, is_dataclass
from functools import cached_property
from typing import Annotated, Any, Final

from enginesim.base.errors import Problem
from enginesim.base.provenance import digest
from enginesim.case.block import Block
from enginesim.case.cam import Cam
from enginesim.case.charge import Air, Combustion, Fuel, Mixture, Spark
from enginesim.case.cylinder import CylinderWalls, Friction
from enginesim.case.exhaust import Exhaust
from enginesim.case.facts import Facts, Part, fields_of
from enginesim.case.head import Head
from enginesim.case.intake import Intake, Throttle
from enginesim.case.numerics import Numerics
from enginesim.case.quantities import Band
from enginesim.case.valve_gear import Clearances, ValveGear
from enginesim.formulas.crank import swept_volume


@dataclass(frozen=True, slots=True)
class Assumed:
    """
    A value that nobody gave.

    Attributes
    ----------
    path : str
        Dotted field.
    value : str
        In the units of the trade (US).
    source : str
        Where it comes from; estimates say so.
    band : str
        One standard deviation as text; empty when there is none.
    sigma : float, tuple of float or None
        The same in SI; of a list, one for each number.
    value_si : str
        The value in metric units.
    """

    path: str
    value: str
    source: str
    band: str = ""
    sigma: Band | None = None
    value_si: str = ""


_NOT_PHYSICAL = frozenset(
    (
        "name",
        "notes",
        "assumed",
        "bands",
        "warnings",
        "given",
        "overridden",
        "valve_gear",
        "clearances",
    )
)


# What a field that is always given has where the thing itself is not there.
_NOTHING: Final = (0.0, (), "", "none")


class Case(Part):
    """
    One engine on one day, ready to be simulated.

    All lengths are in metre, pressures in pascal, angles in radian and so on; engine speeds are
    in rev/min. Made by `enginesim.case.load`, which fills in what the file leaves out.
    """

    name: Annotated[str, Facts("Name of the engine", default="", source="none given")]
    notes: Annotated[
        str, Facts("Anything worth remembering", default="", source="none given", has_lines=True)
    ]
    block: Annotated[Block, Facts("Cylinders, crank, compression and bearings")]
    head: Annotated[Head, Facts("Valves, ports and their flow")]
    cam: Annotated[Cam, Facts("Lobes and their timing")]
    intake: Annotated[Intake, Facts("Plenum and runners")]
    throttle: Annotated[Throttle, Facts("Carburettor or throttle body")]
    exhaust: Annotated[Exhaust, Facts("Primaries, collectors, tail pipe and muffler")]
    fuel: Annotated[Fuel, Facts("Fuel and where it goes in")]
    mixture: Annotated[Mixture, Facts("Air-fuel schedule")]
    spark: Annotated[Spark, Facts("Ignition timing")]
    combustion: Annotated[Combustion, Facts("Shape and pace of the burn")]
    cylinder_walls: Annotated[CylinderWalls, Facts("Wall heat and leakage")]
    friction: Annotated[Friction, Facts("Friction model")]
    air: Annotated[Air, Facts("Air that the engine draws")]
    valve_gear: Annotated[
        ValveGear, Facts("Valve springs and moving masses, for the spring sheet alone")
    ]
    clearances: Annotated[
        Clearances, Facts("Room between valves and pistons, for the clearance sheet alone")
    ]
    numerics: Annotated[Numerics, Facts("Mesh, steps and when to stop")]

    #: Every default that was used.
    assumed: tuple[Assumed, ...] = ()
    #: Bands typed with ``+-``: path, one standard deviation in SI, of a list one for each number.
    bands: Mapping[str, Band] = field(default_factory=dict)
    #: What is doubtful but not wrong.
    warnings: tuple[Problem, ...] = ()
    #: What was given, as it was given: path, text or number.
    given: Mapping[str, Any] = field(default_factory=dict)
    #: Fields of it that were changed one by one; the part around them stays the same part.
    overridden: frozenset[str] = frozenset()

    def __eq__(self, other: object) -> bool:
        """Equal in all but what says where values came from: the warnings, and who changed what."""
        return isinstance(other, Case) and all(
            getattr(self, spot.name) == getattr(other, spot.name)
            for spot in fields(self)
            if spot.name not in ("warnings", "overridden")
        )

    def __hash__(self) -> int:
        return hash(self.digest)

    def __repr__(self) -> str:
        block = self.block
        size = swept_volume(block.bore, block.stroke, block.n_cylinders)
        return (
            f"<Case {self.name or 'without a name'!r}: {block.n_cylinders}-cylinder, "
            f"{1e3 * size:.3f} L, {len(self.assumed)} values assumed>"
        )

    def amend(self, changes: Mapping[str, Any] | None = None, /, **fields: Any) -> Case:
        """
        Return the same engine with some fields given anew; defaults follow them.

        Parameters
        ----------
        changes : mapping of str to object, optional
            Dotted path to text as in a case file, or to a number in SI (angles in radians).
        **fields : object
            The same with two underscores for each dot, for short.

        Returns
        -------
        Case
            A new one.

        Raises
        ------
        CaseError
            With every problem, if there is any.

        Examples
        --------
        >>> import enginesim
        >>> case = enginesim.load("cases/teaching-single.toml")
        >>> wider = case.amend(cam__lobe_separation="112 deg", block__bore=0.0955)
        >>> round(wider.block.bore, 4)
        0.0955
        """
        from enginesim.case.reading import amend

        named = {name.replace("__", "."): value for name, value in fields.items()}
        return amend(self, {**(changes or {}), **named})

    @cached_property
    def digest(self) -> str:
        """SHA-256 of every value that can change a result (so not of names, bands or springs)."""
        parts = (spot.name for spot in fields(self) if spot.name not in _NOT_PHYSICAL)
        return digest({name: _told(getattr(self, name)) for name in parts})


def _told(part: Part) -> dict[str, Any]:
    """
    Values of a part, less those that say "not there".

    So a field that is added later, and is not there in the cases of today, changes no digest and
    orphans no stored result. A field that may be None can tell it from zero; one that may not has
    its zero for it: either way one value is left out, so that no two cases share a digest.
    """
    spots = {spot.name: spot for spot in fields_of(type(part)).values()}
    found: dict[str, Any] = {}
    for attribute in fields(part):  # type: ignore[arg-type]  # a Part is a dataclass
        value, spot = getattr(part, attribute.name), spots.get(attribute.name)
        is_needed = spot is not None and not spot.optional
        if value is None or (is_needed and value in _NOTHING):
            continue
        if isinstance(value, Part):
            found[attribute.name] = _told(value)
        else:
            found[attribute.name] = asdict(value) if is_dataclass(value) else value  # type: ignore[arg-type]
    return found
