"""Fuel, mixture and spark that were not given."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from enginesim.case.draft import GIVES_WAY, Default, Unresolved

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft

#: Stoichiometric air-fuel ratio by mass, from element balances with air of 28.96 g/mol
#: (gasoline as CH1.87); the gas tables work out their own and agree within 0.5 %.
STOICHIOMETRIC: Final = {
    "gasoline 87": 14.60,
    "gasoline 91": 14.60,
    "gasoline 95": 14.60,
    "gasoline 100": 14.60,
    "e10": 14.01,
    "e85": 9.80,
    "ethanol": 9.00,
    "methanol": 6.47,
    "propane": 15.67,
    "iso-octane": 15.13,
}
_ALCOHOLS: Final = ("e85", "ethanol", "methanol")
_FULL_LOAD_LAMBDA: Final = 12.8 / 14.6
_ONE_SPEED: Final = (1000.0,)
_FEWEST_CYCLES: Final = 3


def _delivery(draft: Draft) -> Default:
    return Default("carburettor" if draft.get("throttle.kind") == "carburettor" else "port")


def _evaporated_fraction(draft: Draft) -> Default:
    fuel, delivery = draft.get("fuel.name"), draft.get("fuel.delivery")
    if delivery == "direct":
        return Default(0.0)
    if fuel == "propane":
        return Default(1.0, band="")
    fraction = {"carburettor": 0.6, "port": 0.3}[delivery]
    return Default(0.5 * fraction if fuel in _ALCOHOLS else fraction)


def _wall_heat_share(draft: Draft) -> Default:
    return Default(0.2 if draft.get("fuel.delivery") == "direct" else 0.75)


def _fuel_temperature(draft: Draft) -> Default:
    return Default(draft.get("air.temperature") + 5.0)


def _lambda(draft: Draft) -> Default:
    if draft.given("mixture.afr"):
        ratio = STOICHIOMETRIC[draft.get("fuel.name")]
        return Default(tuple(afr / ratio for afr in draft.get("mixture.afr")), implied=True)
    n = len(draft.get("mixture.rpm")) if draft.given("mixture.rpm") else 1
    return Default((_FULL_LOAD_LAMBDA,) * n)


def _speeds(table: str, columns: tuple[str, ...]) -> Callable[[Draft], Default]:
    """Speeds of a schedule: one stands for all, more must be given."""

    def rule(draft: Draft) -> Default:
        for column in columns:
            values = draft.maybe(f"{table}.{column}")
            if values is not None and len(values) > 1:
                raise draft.missing(f"{table}.rpm", f"the {len(values)} speeds of {column}")
        return Default(_ONE_SPEED, implied=True)

    return rule


def _mode(draft: Draft) -> Default:
    if draft.given("spark.advance"):
        return Default("schedule", implied=True)
    return Default("knock limited")


def _advance(draft: Draft) -> Default:
    if draft.get("spark.mode") == "schedule":
        raise draft.missing("spark.advance", "the advance of the schedule")
    if draft.given("spark.rpm"):
        draft.missing("spark.advance", "the advance at each speed of spark.rpm")
        raise Unresolved
    return Default((math.radians(32),))


def _min_cycles(draft: Draft) -> Default:
    most = draft.get("numerics.max_cycles")
    if most >= _FEWEST_CYCLES:
        return Default(_FEWEST_CYCLES)
    return Default(most, source=GIVES_WAY.format(_FEWEST_CYCLES))


RULES: Final[dict[str, Callable[[Draft], Default]]] = {
    "fuel.delivery": _delivery,
    "fuel.evaporated_fraction": _evaporated_fraction,
    "fuel.wall_heat_share": _wall_heat_share,
    "fuel.temperature": _fuel_temperature,
    "mixture.rpm": _speeds("mixture", ("lambda", "afr")),
    "mixture.lambda": _lambda,
    "spark.rpm": _speeds("spark", ("advance",)),
    "spark.mode": _mode,
    "spark.advance": _advance,
    "numerics.min_cycles": _min_cycles,
}
