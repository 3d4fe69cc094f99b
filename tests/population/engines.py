"""
Random plausible engines from a seed, as the text of a case each.

Engine `index` of a seed is always the same, whatever else was drawn. Values are uniform between
their ends unless said otherwise. A layout is drawn among those that the number of cylinders allows;
what `check` refuses is drawn anew, engine and all, and counted.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Any

from enginesim.base.errors import CaseError
from enginesim.base.units import to_si
from enginesim.case import Case, derive, loads

CYLINDERS = (1, 2, 3, 4, 5, 6, 8, 10, 12)
VALVES = ((1, 1), (1, 1), (1, 1), (2, 1), (2, 2), (3, 2))  # half of the engines have two
FUELS = ("gasoline 87", "gasoline 91", "gasoline 95", "gasoline 100", "e10", "e85", "ethanol",
         "methanol", "propane", "iso-octane")  # fmt: skip
DELIVERIES = ("carburettor", "port", "direct")
BANK_SIZES = {"4-into-1": 4, "4-into-2-into-1": 4, "3-into-1": 3, "2-into-1": 2}
SHEET = (0.07, 0.14, 0.21, 0.28, 0.35)  # lifts of a sheet over the valve's diameter
SHAPE = (0.32, 0.61, 0.83, 0.95, 1.0)  # flow there over the best: a curve that flattens out
IDEAL_FLOW = 147.0  # of a square inch at 28 inH2O [cfm]
SIZING_RPM, SIZING_VE = 5000.0, 0.85
ATTEMPTS = 1000  # a population of which `check` refuses so many in a row is none

Entries = dict[str, Any]


@dataclass(frozen=True)
class Drawn:
    """
    One engine of a population.

    Attributes
    ----------
    seed, index : int
        Which one.
    text : str
        Its case.
    speeds : tuple of float
        Three, ascending. [rpm]
    refusals : tuple of str
        Why `check` refused what was drawn before it.
    """

    seed: int
    index: int
    text: str
    speeds: tuple[float, ...]
    refusals: tuple[str, ...]

    @property
    def case(self) -> Case:
        """The engine as read from its text."""
        return loads(self.text, label=f"engine {self.seed}/{self.index}")


def drawn(seed: int, index: int) -> Drawn:
    """One engine of a seed."""
    refusals: list[str] = []
    for attempt in range(ATTEMPTS):
        chance = random.Random(f"{seed}/{index}/{attempt}")
        entries = _entries(chance)
        try:
            text = case_text(entries)
            # Runners are drawn in proportion to the port, which the case works out.
            port = derive(loads(text)).case.head.intake.port_flange_diameter
            entries["intake.runner_stations"] = f"{_mm(port * chance.uniform(0.7, 1.3))} @ 0"
            text = case_text(entries)
            case = derive(loads(text)).case
        except CaseError as error:
            refusals += [f"{p.path}: found {p.found}" for p in error.problems[:1]]
            continue
        return Drawn(seed, index, text, _speeds(chance, case.block.stroke), tuple(refusals))
    msg = f"seed {seed}, engine {index}: refused {ATTEMPTS} times, last {refusals[-1]}"
    raise RuntimeError(msg)


def case_text(entries: Entries) -> str:
    """TOML of values by dotted path."""
    return "".join(f"{path} = {_toml(value)}\n" for path, value in entries.items())


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else repr(value)


def _mm(metres: float) -> str:
    return f"{1e3 * metres:.3f} mm"


def _log_uniform(chance: random.Random, low: float, high: float) -> float:
    return math.exp(chance.uniform(math.log(low), math.log(high)))


def _speeds(chance: random.Random, stroke: float) -> tuple[float, ...]:
    low, high = (max(600.0, min(14000.0, 30.0 * speed / stroke)) for speed in (2.0, 25.0))
    return tuple(sorted(round(_log_uniform(chance, low, high)) for _ in range(3)))


def _entries(chance: random.Random) -> Entries:
    n = chance.choice(CYLINDERS)
    volume = _log_uniform(chance, 50e-6, 950e-6)
    bore_over_stroke = chance.uniform(0.80, 1.35)
    stroke = (4.0 * volume / (math.pi * bore_over_stroke**2)) ** (1 / 3)
    bore = bore_over_stroke * stroke
    entries: Entries = {
        "block.n_cylinders": n,
        "block.bore": _mm(bore),
        "block.stroke": _mm(stroke),
        "block.rod_length": _mm(stroke * chance.uniform(1.45, 2.1)),
        "block.compression_ratio": round(chance.uniform(7.0, 14.0), 2),
    }
    if n == 6 and chance.random() < 0.5:
        entries["block.arrangement"] = "vee"
    exhaust_valve = _valves(chance, entries, bore)
    _cam(chance, entries)
    _intake(chance, entries, n, n * volume)
    _exhaust(chance, entries, n, exhaust_valve)
    entries["fuel.name"] = chance.choice(FUELS)
    entries["fuel.delivery"] = chance.choice(DELIVERIES)
    entries["mixture.lambda"] = round(chance.uniform(0.75, 1.15), 3)
    entries["spark.mode"] = mode = chance.choice(("best", "knock limited", "schedule"))
    if mode == "schedule":
        entries["spark.advance"] = round(chance.uniform(10.0, 40.0), 1)
    entries["air.pressure"] = f"{chance.uniform(54.0, 103.0):.2f} kPa"
    entries["air.temperature"] = f"{chance.uniform(-20.0, 45.0):.1f} degC"
    entries["air.humidity"] = round(chance.uniform(0.0, 0.9), 3)
    entries["numerics.fidelity"] = "wave" if chance.random() < 0.7 else "filling"
    return entries


def _valves(chance: random.Random, entries: Entries, bore: float) -> float:
    """Add valves and flow; diameter of one exhaust valve with the area of all of them [m]."""
    n_valves = chance.choice(VALVES)
    part = chance.uniform(0.18, 0.26 if n_valves == (1, 1) else 0.34)
    share = {"intake": part, "exhaust": part * chance.uniform(0.55, 0.95)}
    diameter = {}
    by_sheet = chance.random() < 0.5
    for side, n in zip(share, n_valves, strict=True):
        area = share[side] * 0.25 * math.pi * bore**2
        diameter[side] = valve = math.sqrt(4.0 * area / (math.pi * n))
        best = chance.uniform(0.40, 0.65) * IDEAL_FLOW * area / to_si(1.0, "in2")
        entries[f"head.{side}.n_valves"] = n
        entries[f"head.{side}.valve_diameter"] = _mm(valve)
        if by_sheet:
            lifts = " ".join(f"{1e3 * valve * x:.3f}" for x in SHEET)
            flows = " ".join(f"{best * x:.3f}" for x in SHAPE)
            entries[f"head.{side}.sheet.lift"] = f"{lifts} mm"
            entries[f"head.{side}.sheet.flow"] = f"{flows} cfm"
            entries[f"head.{side}.sheet.depression"] = "28 inH2O"
        else:
            entries[f"head.{side}.peak_flow"] = f"{best:.3f} cfm @ 28 inH2O"
        entries[f"cam.{side}.valve_lift"] = _mm(valve * chance.uniform(0.18, 0.38))
    return diameter["exhaust"] * math.sqrt(n_valves[1])


def _cam(chance: random.Random, entries: Entries) -> None:
    separation, duration = chance.uniform(98.0, 122.0), chance.uniform(170.0, 290.0)
    entries["cam.lobe_separation"] = round(separation, 2)
    entries["cam.intake_centreline"] = round(separation + chance.uniform(-8.0, 4.0), 2)
    for side, longer in (("intake", 0.0), ("exhaust", chance.uniform(-10.0, 20.0))):
        entries[f"cam.{side}.durations"] = f"{duration + longer:.2f} @ 0.050 in"


def _intake(chance: random.Random, entries: Entries, n: int, displacement: float) -> None:
    layouts = ["single plenum", "individual throttles", "open stacks"]
    layout = chance.choice(layouts + (["divided plenum"] if n > 1 else []))
    entries["intake.layout"] = layout
    entries["intake.runner_lengths"] = _mm(chance.uniform(0.050, 0.600))
    part = chance.uniform(0.2, 4.0) / (2 if layout == "divided plenum" else 1)
    if layout.endswith("plenum"):
        entries["intake.plenum_volume"] = f"{1e3 * part * displacement:.4f} L"
    kinds = {"open stacks": ["none"], "individual throttles": ["throttle body"]}
    kind = chance.choice(kinds.get(layout, ["carburettor", "throttle body", "none"]))
    entries["throttle.kind"] = kind
    if kind == "none":
        return
    # The rule is for engines whose cylinders draw one after the other; a cylinder with a throttle
    # of its own draws in a quarter of the cycle.
    fed = {"individual throttles": 1, "divided plenum": n / 2}.get(layout, n)
    air = displacement * SIZING_VE * SIZING_RPM / 120.0 * max(1.0, 4.0 / fed)
    if layout == "individual throttles":
        air /= n
    rated = air * math.sqrt(1.5 / chance.uniform(0.6, 2.5))  # at 1.5 inHg [m3/s]
    if kind == "throttle body" and chance.random() < 0.5:
        speed = math.sqrt(2.0 * to_si(1.5, "inHg") / 1.2)
        entries["throttle.diameter"] = _mm(math.sqrt(4.0 * rated / speed / 0.90 / math.pi))
    else:
        entries["throttle.flow"] = f"{rated / to_si(1.0, 'cfm'):.3f} cfm @ 1.5 inHg"
    if chance.random() >= 0.6:
        entries["throttle.opening"] = float(f"{_log_uniform(chance, 0.01, 0.60):.5f}")


def _exhaust(chance: random.Random, entries: Entries, n: int, valve: float) -> None:
    fitting = [layout for layout, size in BANK_SIZES.items() if n % size == 0]
    layout = chance.choice([*fitting, "log", "single"])
    size = BANK_SIZES.get(layout, n if n < 6 else n // 2)
    banks = [range(i + 1, i + size + 1) for i in range(0, n, size)]
    if n == 8 and size == 4:
        banks = [range(1, 9, 2), range(2, 9, 2)]
    entries["block.banks"] = " / ".join(" ".join(map(str, bank)) for bank in banks)
    primary = valve * chance.uniform(0.75, 1.25)
    entries["exhaust.layout"] = layout
    entries["exhaust.primary_lengths"] = _mm(chance.uniform(0.100, 1.200))
    entries["exhaust.primary_diameter"] = _mm(primary)
    # A length of nothing is a shape of its own: a quarter of the engines have it where they may.
    may_lack = layout == "single"
    without = may_lack and chance.random() < 0.25
    entries["exhaust.collector_length"] = _mm(0.0 if without else chance.uniform(0.0, 0.800))
    entries["exhaust.tail_length"] = _mm(
        0.0 if chance.random() < 0.25 else chance.uniform(0.0, 3.0)
    )
    entries["exhaust.muffler"] = chance.choice(("none", "back-pressure", "volume"))
    if len(banks) > 1 and chance.random() < 0.25:
        entries["exhaust.crossover"] = True
