"""What is a study: which engine, what is varied, what is looked at, what must hold?"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from enginesim.study.limits import Aim, Constraint
from enginesim.study.links import Link
from enginesim.study.measures import Measure
from enginesim.study.values import Span, Values, Words, number_text, with_at

#: Engines that a search simulates unless told otherwise.
POINTS: Final = 60
#: Engines that it chooses at a time: more keep more processors busy and learn a little less each.
BATCH: Final = 2


@dataclass(frozen=True, slots=True)
class Variable:
    """
    Something that is varied.

    Attributes
    ----------
    name : str
        Dotted field or part of the case, or a name of its own that links refer to.
    values : Span, Steps or Words
        What it may be.
    """

    name: str
    values: Values

    @property
    def is_numeric(self) -> bool:
        """Whether its values are numbers."""
        return not isinstance(self.values, Words)

    def shown(self, value: float | str) -> str:
        """
        One of its values, with its unit.

        Parameters
        ----------
        value : float or str
            In the unit of the variable, or a word.

        Returns
        -------
        str
            As a case file would have it.
        """
        if isinstance(value, str):
            return value
        return with_at(number_text(value, self.values.unit), self.values.at)


@dataclass(frozen=True, slots=True)
class Condition:
    """
    Another way to run each engine, such as idling.

    Attributes
    ----------
    name : str
        What measures call it.
    speed : float
        Engine speed. [rpm]
    overrides : tuple of str
        ``path=value`` texts on top of the engine's own.
    """

    name: str
    speed: float
    overrides: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Study:
    """
    A sweep or a search, complete.

    Attributes
    ----------
    case : str
        Case file, as written; from `folder`.
    folder : Path
        Folder of the study file.
    speeds : tuple of float
        Speeds of the curve of each engine, rising. [rpm]
    variables : tuple of Variable
        What is varied.
    links : tuple of Link
        Fields that follow variables.
    overrides : tuple of str
        ``path=value`` texts that hold for all engines.
    conditions : tuple of Condition
        Other ways to run each engine.
    constraints : tuple of Constraint
        What must hold.
    aims : tuple of Aim
        What is wanted: none, one or two.
    shown : tuple of Measure
        What is worked out besides.
    samples : int
        Engines drawn at random, evenly spread; 0 for every combination. [-]
    points : int
        Engines that a search may simulate. [-]
    batch : int
        Engines that a search chooses at a time. [-]
    seed : int
        Beginning of all random numbers. [-]
    vehicle : str
        Vehicle file, as written; from `folder`. Empty where none is asked about.
    name, notes : str
        For people.
    """

    case: str
    speeds: tuple[float, ...]
    variables: tuple[Variable, ...]
    folder: Path = field(default=Path(), compare=False)
    links: tuple[Link, ...] = ()
    overrides: tuple[str, ...] = ()
    conditions: tuple[Condition, ...] = ()
    constraints: tuple[Constraint, ...] = ()
    aims: tuple[Aim, ...] = ()
    shown: tuple[Measure, ...] = ()
    samples: int = 0
    points: int = POINTS
    batch: int = BATCH
    seed: int = 1
    vehicle: str = ""
    name: str = ""
    notes: str = ""

    @property
    def file(self) -> Path:
        """The case file."""
        return self.folder / self.case

    @property
    def measures(self) -> tuple[Measure, ...]:
        """Everything to be worked out of each engine, each once: aims, limits, the rest."""
        wanted = [
            *(aim.measure for aim in self.aims),
            *self.shown,
            *(limit.measure for limit in self.constraints),
        ]
        return tuple(dict.fromkeys(wanted))

    @property
    def every_speed(self) -> tuple[float, ...]:
        """Speeds of the curve and those that a measure names. [rpm]."""
        named = {
            rpm for measure in self.measures if not measure.condition for rpm in measure.speeds
        }
        return tuple(sorted({*self.speeds, *named}))

    def condition(self, name: str) -> Condition:
        """Condition of a name."""
        return next(known for known in self.conditions if known.name == name)

    def combinations(self) -> int:
        """Number of combinations; 0 where a variable may be anything between two numbers."""
        total = 1
        for variable in self.variables:
            total *= 0 if isinstance(variable.values, Span) else len(variable.values.items)
        return total
