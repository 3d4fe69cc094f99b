"""Of which ducts, volumes and links does a case's exhaust consist?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from enginesim.case.numerics import HOT_CELLS
from enginesim.network.intake import port_section
from enginesim.network.losses import END_CORRECTION, bend_loss
from enginesim.network.pieces import Duct, End, Link, Plan, Section, Volume, pipe
from enginesim.ports.flow_bench import nozzle_flux

if TYPE_CHECKING:
    from enginesim.case.tree import Case

TUBE_ROUGHNESS = 5e-5  # drawn steel tube, slightly used [m]; common practice, no source
T_START = 1000.0  # exhaust gas before the first cycle [K]; forgotten after two cycles
T_PLUME = 700.0  # exhaust gas behind an open end [K]; estimate
T_MUFFLER = 870.0  # gas at which a muffler's loss is stated [K]: what it holds at full load


class _Builder:
    """Adds ducts and volumes with hot burned gas in them."""

    def __init__(self, case: Case, plan: Plan, ambient: int) -> None:
        self.case = case
        self.plan = plan
        self.ambient = ambient
        self.pressure = 1.02 * case.air.pressure
        self.cell_size = HOT_CELLS * case.numerics.cell_size

    def volume(self, name: str, volume: float) -> int:
        return self.plan.add_volume(Volume(name, volume, self.pressure, T_START, 1.0))

    def duct(self, name: str, sections: tuple[Section, ...], start: End, finish: End) -> None:
        self.plan.ducts.append(
            Duct(name, sections, start, finish, self.cell_size, self.pressure, T_START, 1.0)
        )

    def from_valve(self, cylinder: int) -> tuple[Section, ...]:
        """Port and primary of a cylinder, from the valve on."""
        exhaust = self.case.exhaust
        port = port_section(self.case, "exhaust")
        reversed_port = Section(
            port.length, port.area[::-1].copy(), port.wall_temperature, port.roughness
        )
        diameter = exhaust.primary_diameter
        loss = sum(bend_loss(angle, radius, diameter) for angle, radius in exhaust.bends)
        return (
            reversed_port,
            pipe(
                exhaust.primary_lengths[cylinder],
                [diameter],
                exhaust.wall_temperature_primary,
                TUBE_ROUGHNESS,
                loss,
            ),
        )

    def collector(self) -> tuple[Section, ...]:
        exhaust = self.case.exhaust
        if exhaust.collector_length <= 0.0:  # a single pipe has none
            return ()
        return (
            pipe(
                exhaust.collector_length,
                [exhaust.collector_diameter],
                exhaust.wall_temperature_collector,
                TUBE_ROUGHNESS,
            ),
        )

    def tail(self) -> tuple[Section, ...]:
        exhaust = self.case.exhaust
        if exhaust.tail_length <= 0.0:
            return ()
        return (
            pipe(
                exhaust.tail_length,
                [exhaust.tail_diameter],
                exhaust.wall_temperature_collector,
                TUBE_ROUGHNESS,
            ),
        )

    def outlet(self, name: str, sections: tuple[Section, ...], start: End) -> None:
        """Last duct: to the open air, or to a muffler and through it."""
        exhaust = self.case.exhaust
        if exhaust.muffler == "none":
            mouth = math.sqrt(4.0 * float(sections[-1].area[-1]) / math.pi)
            added = pipe(
                END_CORRECTION["tail"] * 0.5 * mouth,
                [mouth],
                sections[-1].wall_temperature,
                TUBE_ROUGHNESS,
            )
            self.duct(name, (*sections, added), start, End("ambient", self.ambient))
            return
        muffler = self.volume(f"muffler of {name}", exhaust.muffler_volume)
        self.duct(name, sections, start, End("volume", muffler))
        if exhaust.muffler == "back-pressure":
            area = self.loss_area()
        else:
            area = float(sections[-1].area[-1])
        self.plan.links.append(
            Link(f"outlet of muffler of {name}", muffler, self.ambient, area, area)
        )

    def loss_area(self) -> float:
        """Effective area that makes the stated loss at the stated flow."""
        exhaust = self.case.exhaust
        p = self.case.air.pressure + exhaust.muffler_back_pressure
        flux = nozzle_flux(p, T_MUFFLER, self.case.air.pressure)
        return exhaust.muffler_flow / flux


def add_exhaust(case: Case, plan: Plan) -> None:
    """
    Add the exhaust of a case to a plan.

    Parameters
    ----------
    case : Case
        A loaded case.
    plan : Plan
        Gets the pieces.

    Notes
    -----
    Where pipes meet stands a volume of the stated size: filling and emptying, so that a stream's
    velocity head is lost there, as in a sudden enlargement.
    """
    # What an open end draws back is the gas that it has just blown out, not fresh air.
    plume = plan.add_volume(Volume("exhaust plume", 0.0, case.air.pressure, T_PLUME, 1.0))
    builder = _Builder(case, plan, plume)
    banks = case.block.banks
    if case.exhaust.layout == "single":
        banks = tuple((number,) for bank in banks for number in bank)
    shared = case.exhaust.crossover and len(banks) > 1
    meeting = builder.volume("crossover", case.exhaust.merge_volume) if shared else None
    for k, bank in enumerate(banks):
        suffix = "" if len(banks) == 1 else f" {k + 1}"
        start, head = _bank(builder, bank, suffix)
        if meeting is None:
            builder.outlet(f"exhaust{suffix}", (*head, *builder.tail()), start)
        else:
            builder.duct(f"collector{suffix}", head, start, End("volume", meeting))
    if meeting is not None:
        sections = builder.tail() or builder.collector()
        builder.outlet("exhaust", sections, End("volume", meeting))


def _bank(builder: _Builder, bank: tuple[int, ...], suffix: str) -> tuple[End, tuple[Section, ...]]:
    """Primaries of a bank; gives what its collector starts from and its first sections."""
    exhaust = builder.case.exhaust
    if len(bank) == 1:
        cylinder = bank[0] - 1
        head = (*builder.from_valve(cylinder), *builder.collector())
        return End("valve", cylinder, "exhaust"), head
    if exhaust.layout == "log":
        return End("volume", _log(builder, bank, suffix)), builder.collector()
    merge = builder.volume(f"merge{suffix}", exhaust.merge_volume)
    if exhaust.layout == "4-into-2-into-1":
        order = [c for c in builder.case.block.firing_order if c in bank]
        half = len(order) // 2
        for j in range(half):
            pair = (order[j], order[j + half])
            meeting = builder.volume(f"pair {pair[0]}-{pair[1]}", 0.5 * exhaust.merge_volume)
            for number in pair:
                _primary(builder, number, meeting)
            secondary = pipe(
                exhaust.secondary_length,
                [exhaust.secondary_diameter],
                exhaust.wall_temperature_collector,
                TUBE_ROUGHNESS,
            )
            builder.duct(
                f"secondary {pair[0]}-{pair[1]}",
                (secondary,),
                End("volume", meeting),
                End("volume", merge),
            )
    else:
        for number in bank:
            _primary(builder, number, merge)
    return End("volume", merge), builder.collector()


def _primary(builder: _Builder, number: int, merge: int) -> None:
    builder.duct(
        f"primary {number}",
        builder.from_valve(number - 1),
        End("valve", number - 1, "exhaust"),
        End("volume", merge),
    )


def _log(builder: _Builder, bank: tuple[int, ...], suffix: str) -> int:
    """A log: a chamber at each port, joined by the log's pipe; gives the last chamber."""
    exhaust = builder.case.exhaust
    section = pipe(
        exhaust.log_segment_length,
        [exhaust.log_diameter],
        exhaust.wall_temperature_primary,
        TUBE_ROUGHNESS,
    )
    chamber_volume = 0.25 * math.pi * exhaust.log_diameter**3
    last = -1
    for number in bank:
        chamber = builder.volume(f"log{suffix} at {number}", chamber_volume)
        _primary(builder, number, chamber)
        if last >= 0:
            builder.duct(
                f"log{suffix} to {number}", (section,), End("volume", last), End("volume", chamber)
            )
        last = chamber
    return last
