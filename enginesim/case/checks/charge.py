"""Schedules, fuel, combustion and numerics."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from enginesim.base.humidity import HUMIDITY_RATIO_MAX, humidity_ratio
from enginesim.base.units import shown
from enginesim.case.defaults.charge import STOICHIOMETRIC

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case.draft import Draft


def _schedule(table: str, column: str) -> Callable[[Draft], None]:
    def check(draft: Draft) -> None:
        speeds, values = draft.get(f"{table}.rpm"), draft.get(f"{table}.{column}")
        if len(speeds) != len(values):
            found = f"{len(values)} values for {len(speeds)} speeds"
            draft.report(f"{table}.{column}", found, "one value for each speed")
        if any(b <= a for a, b in pairwise(speeds)):
            draft.report(f"{table}.rpm", "speeds that do not rise", "ascending speeds")

    return check


def _mixture(draft: Draft) -> None:
    if not (draft.given("mixture.afr") and draft.given("mixture.lambda")):
        return
    ratio = STOICHIOMETRIC[draft.get("fuel.name")]
    afr, lambda_ = draft.get("mixture.afr"), draft.get("mixture.lambda")
    same = len(afr) == len(lambda_) and all(
        abs(a / ratio - b) < 0.01 for a, b in zip(afr, lambda_, strict=True)
    )
    if not same:
        hint = f"stoichiometric here is {ratio:g}"
        draft.report("mixture.afr", "afr beside another lambda", "one of the two", hint)


def _afr_fits(draft: Draft) -> None:
    afr = draft.maybe("mixture.afr")
    if afr is None:
        return
    fuel = draft.get("fuel.name")
    ratio = STOICHIOMETRIC[fuel]
    far = next((a for a in afr if not 0.6 <= a / ratio <= 1.6), None)
    if far is not None:
        found = f"{far:g}, lambda {far / ratio:.2f} on {fuel}"
        hint = f"stoichiometric is {ratio:g} for this fuel"
        draft.report("mixture.afr", found, f"{0.6 * ratio:.1f} to {1.6 * ratio:.1f}", hint)


def _octane(draft: Draft) -> None:
    research, motor = draft.maybe("fuel.octane_research"), draft.maybe("fuel.octane_motor")
    if research is not None and motor is not None and motor > research:
        found = f"{motor:g}, above the research octane of {research:g}"
        draft.report("fuel.octane_motor", found, "no more than that", "exchanged?")


def _spark(draft: Draft) -> None:
    if draft.given("spark.advance") and draft.get("spark.mode") != "schedule":
        found = f"a schedule with mode = {draft.get('spark.mode')!r}"
        draft.warn("spark.advance", found, "mode = 'schedule'", "the search only begins there")


def _humid_air(draft: Draft) -> None:
    pressure, temperature, humidity = (
        draft.get(f"air.{name}") for name in ("pressure", "temperature", "humidity")
    )
    water = humidity_ratio(pressure, temperature, humidity)
    if water > HUMIDITY_RATIO_MAX:
        found = f"{100 * humidity:.0f} % at {shown(temperature, 'degC')}, {water:.2f} kg of water"
        allowed = f"at most {HUMIDITY_RATIO_MAX:g} kg in each kilogram of dry air"
        draft.report("air.humidity", found, allowed, "is the temperature right?")


def _cycles(draft: Draft) -> None:
    fewest, most = draft.get("numerics.min_cycles"), draft.get("numerics.max_cycles")
    if fewest > most:
        draft.report("numerics.min_cycles", str(fewest), f"up to max_cycles, {most}")


CHECKS = (
    _schedule("mixture", "lambda"),
    _schedule("spark", "advance"),
    _mixture,
    _afr_fits,
    _octane,
    _spark,
    _humid_air,
    _cycles,
)
