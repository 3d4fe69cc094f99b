"""What does one record say about the engine at that speed?"""

from __future__ import annotations

from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING, Any

import numpy as np

from enginesim.base.quantity import quantities, quantity, unknown
from enginesim.formulas.crank import swept_volume
from enginesim.gas import gas_constant, heat_capacity
from enginesim.performance import breathing, burn, filling, friction, fuel, indicated, knock
from enginesim.performance.energy import exhaust_temperature, heat_split

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.cycle.record import CycleRecord, Samples
    from enginesim.gas import GasTables

#: Names of the volumes whose pressure is the manifold's begin with this.
PLENUM = "plenum"


@dataclass(frozen=True, kw_only=True, slots=True)
class Performance:
    """
    One engine at one speed, SI. Means are over the cylinders unless a definition says otherwise.

    Fields are attributes; ``performance["torque"]`` asks by name and knows the nearest one.
    :func:`enginesim.base.quantity.quantities` lists the unit and definition of each.
    """

    rpm: float = quantity("rpm", "engine speed", "Turns of the crank per minute.")
    torque: float = quantity("N m", "torque", "Brake torque: indicated net less friction.")
    power: float = quantity("W", "power", "Brake torque times crank speed.")
    torque_indicated: float = quantity(
        "N m", "indicated torque", "Torque of the net work of the gas on the pistons."
    )
    ve: float = quantity(
        "-",
        "volumetric efficiency",
        "Humid air through the intake valves per cycle, over what fills the displacement at the "
        "pressure and temperature of the open air.",
    )
    ve_plenum: float = quantity(
        "-",
        "volumetric efficiency, plenum",
        "The same on the mean density in the plenum; not a number where there is none.",
    )
    delivery_ratio: float = quantity(
        "-",
        "delivery ratio",
        "Air drawn from the open air, over what fills the displacement at its density.",
    )
    imep_gross: float = quantity(
        "Pa", "IMEP gross", "Work of compression and expansion over displacement."
    )
    imep_net: float = quantity("Pa", "IMEP net", "Work of the whole cycle over displacement.")
    pmep: float = quantity(
        "Pa", "PMEP", "Pumping: gross less net indicated; positive when it costs work."
    )
    fmep: float = quantity(
        "Pa", "FMEP", "Friction by the case's law, accessories included, pumping not."
    )
    bmep: float = quantity("Pa", "BMEP", "Net indicated less friction.")
    imep_spread: float = quantity(
        "-", "IMEP spread", "Net work of the best cylinder less that of the worst, over the mean."
    )
    air_spread: float = quantity(
        "-", "air spread", "Air of the fullest cylinder less that of the emptiest, over the mean."
    )
    air_trapped: float = quantity(
        "kg", "air trapped", "Air of a cycle that stayed in a cylinder: in, less short-circuited."
    )
    trapped_mass: float = quantity(
        "kg", "trapped mass", "Gas in a cylinder when its intake valves have closed."
    )
    residual: float = quantity(
        "-", "residual", "Burned gas in the trapped mass, by mass; all cylinders together."
    )
    short_circuit: float = quantity(
        "-", "short circuit", "Fresh charge lost unburned through the exhaust, over what came in."
    )
    lambda_trapped: float = quantity(
        "-", "lambda trapped", "Relative air-fuel ratio of the fresh charge that stayed."
    )
    lambda_overall: float = quantity(
        "-", "lambda", "Relative air-fuel ratio of air drawn and fuel delivered."
    )
    air_flow: float = quantity("kg/s", "air flow", "Humid air drawn from the open air.")
    fuel_flow: float = quantity("kg/s", "fuel flow", "Fuel delivered.")
    bsfc: float = quantity("kg/J", "BSFC", "Fuel flow over brake power.")
    p_max: float = quantity("Pa", "peak pressure", "Highest cylinder pressure of any cylinder.")
    theta_p_max: float = quantity(
        "rad", "angle of peak pressure", "After firing top dead centre, in that cylinder."
    )
    ca10: float = quantity("rad", "10 % burned", "Crank angle after firing top dead centre.")
    ca50: float = quantity("rad", "50 % burned", "Crank angle after firing top dead centre.")
    ca90: float = quantity("rad", "90 % burned", "Crank angle after firing top dead centre.")
    spark: float = quantity("rad", "spark advance", "Before firing top dead centre.")
    knock_margin: float = quantity(
        "rad", "knock margin", "Spark that could be added before the worst cylinder knocks."
    )
    octane_margin: float = quantity(
        "-", "octane margin", "Octane, (R+M)/2, that could be given up before it knocks."
    )
    egt: float = quantity(
        "K", "exhaust temperature", "Enthalpy-averaged over the flow through the exhaust valves."
    )
    inlet_mach: float = quantity(
        "-",
        "inlet Mach index",
        "Piston area times mean piston speed over mean effective intake valve area times sound "
        "speed of the open air.",
    )
    piston_speed: float = quantity("m/s", "mean piston speed", "Two strokes per turn.")
    manifold_pressure: float = quantity(
        "Pa", "manifold pressure", "Mean in the plenum; not a number where there is none."
    )
    manifold_depression: float = quantity(
        "Pa", "manifold depression", "Open air less manifold pressure."
    )
    n_cylinders: int = quantity("-", "cylinders", "Number of cylinders.")
    displacement: float = quantity("m3", "displacement", "Of all cylinders.")
    air_pressure: float = quantity("Pa", "barometer", "Pressure of the open air.")
    air_temperature: float = quantity("K", "air temperature", "Temperature of the open air.")
    air_density: float = quantity("kg/m3", "air density", "Density of the open air, humid.")
    volume_full: float = quantity("m3", "volume when full", "Greatest volume of a cylinder.")
    mass_filled: float = quantity(
        "kg", "mass at the end of inflow", "Greatest mass in a cylinder before it fires."
    )
    r_filled: float = quantity("J/(kg K)", "gas constant of the charge", "Of that mass.")
    p_filled: float = quantity(
        "Pa",
        "pressure at the end of inflow",
        "Cylinder pressure when the inflow ends, expanded to the greatest volume.",
    )
    backflow: float = quantity(
        "-", "backflow", "Part of that mass which is pushed back before the intake valves close."
    )
    p_port: float = quantity(
        "Pa",
        "port pressure",
        "Total pressure ahead of the intake valves, mean of what flows in; not a number without "
        "ducts.",
    )
    p_port_closing: float = quantity(
        "Pa",
        "port pressure at closing",
        "The same, mean of the last fifth that flows in; not a number without ducts.",
    )
    t_port: float = quantity(
        "K",
        "port temperature",
        "Total temperature ahead of the intake valves, mean of what flows in; not a number "
        "without ducts.",
    )
    t_mixed: float = quantity(
        "K",
        "temperature when mixed",
        "Of the inflow with the gas that was left in the cylinder; not a number without ducts.",
    )
    t_warmed: float = quantity(
        "K",
        "temperature when warmed",
        "The same with the heat of the cylinder walls until the inflow ends, less that of fuel "
        "evaporating inside; not a number without ducts.",
    )
    released_heat: float = quantity("J", "heat released", "By burning, per cycle, all cylinders.")
    wall_heat: float = quantity(
        "J",
        "wall heat",
        "To the cylinder walls during compression and expansion, per cycle, all cylinders.",
    )
    heat_brake: float = quantity("-", "heat to brake", "Brake work over the fuel's heat.")
    heat_friction: float = quantity("-", "heat to friction", "Friction over the fuel's heat.")
    heat_walls: float = quantity("-", "heat to walls", "Cylinder wall heat over the fuel's heat.")
    heat_incomplete: float = quantity(
        "-", "heat not released", "Heat that burning did not release, over the fuel's heat."
    )
    heat_exhaust: float = quantity(
        "-", "heat to exhaust", "The rest of the fuel's heat: leaves with the gas."
    )
    converged: bool = quantity("", "converged", "Whether the cycles have become periodic.")
    status: str = quantity("", "status", "One sentence: how the simulation ended.")
    cycles: int = quantity("-", "cycles", "Cycles run until the end.")
    mass_error: float = quantity(
        "-", "mass error", "Gap in the book-keeping of mass over the air drawn."
    )
    energy_error: float = quantity(
        "-", "energy error", "Gap in the book-keeping of energy over the fuel's heat."
    )
    imbalance: float = quantity(
        "-", "imbalance", "Largest gain of mass of any volume over the cycle, relative."
    )
    work_error: float = quantity(
        "-",
        "work error",
        "Trapezoidal work on the record's samples less the steps' own, over the latter.",
    )

    def __getitem__(self, name: str) -> Any:
        if name not in quantities(type(self)):
            raise unknown(type(self), name)
        return getattr(self, name)


def summarise(case: Case, tables: GasTables, record: CycleRecord) -> Performance:
    """
    Performance at the speed of a record.

    Parameters
    ----------
    case : Case
        The engine that was simulated.
    tables : GasTables
        The gases that it was simulated with.
    record : CycleRecord
        The last cycle.

    Returns
    -------
    Performance
        Everything that a table or a curve shows.

    Notes
    -----
    Source: that of each function called.
    """
    block = case.block
    swept = swept_volume(block.bore, block.stroke, block.n_cylinders)
    speed = indicated.piston_speed(block.stroke, record.rpm)
    gross = indicated.mean_pressure(float(np.sum(record.work_gross)), swept)
    net = indicated.mean_pressure(float(np.sum(record.work)), swept)
    peaks = [burn.peak(*record.of_cylinder("pressure", i)) for i in range(block.n_cylinders)]
    theta_p_max, p_max = max(peaks, key=lambda place: place[1])

    manifold, plenum_density = _plenum(record, float(tables.r_gas[0]))
    supply = case.air.pressure if np.isnan(manifold) else manifold
    mean_peak = float(np.mean([height for _, height in peaks]))
    fmep = friction.friction_mep(
        case, record.rpm, mean_peak, supply / case.air.pressure, gross - net
    )
    brake = indicated.torque(net - fmep, swept)
    power = indicated.power(brake, record.rpm)

    air, drawn = float(np.sum(record.air_in)), record.air_ambient
    delivered = float(np.sum(record.fuel_in))
    burned = float(np.sum(record.fuel_burned))
    lost = float(np.sum(record.short_circuit))
    kept_air, kept_fuel = fuel.trapped_charge(air, delivered, lost)
    open_air = case.air.pressure / (float(tables.r_gas[0]) * case.air.temperature)
    humidity, stoich = tables.humidity_ratio, tables.afr_stoich
    fuel_flow = fuel.per_second(record.fuel_ambient, record.rpm)
    split = heat_split(
        tables,
        delivered,
        burned,
        float(np.sum(record.work)),
        fmep * swept,
        float(np.sum(record.heat_walls)),
    )
    unburned = max(delivered - burned, 0.0)
    spare_air = max(air - burned / tables.fuel_air_ratio, 0.0)
    octane = 0.5 * (tables.octane_research + tables.octane_motor)
    way = filling.filling(record, supply, float(tables.r_gas[0]), _latent(case, tables, record))
    sampled = sum(
        indicated.loop_work(record.pressure[i], record.volume[i]) for i in range(block.n_cylinders)
    )

    return Performance(
        rpm=record.rpm,
        torque=brake,
        power=power,
        torque_indicated=indicated.torque(net, swept),
        ve=breathing.volumetric_efficiency(air, open_air, swept),
        ve_plenum=breathing.volumetric_efficiency(air, plenum_density, swept),
        delivery_ratio=breathing.volumetric_efficiency(drawn, open_air, swept),
        imep_gross=gross,
        imep_net=net,
        pmep=gross - net,
        fmep=fmep,
        bmep=net - fmep,
        imep_spread=breathing.spread(record.work),
        air_spread=breathing.spread(record.air_in),
        air_trapped=kept_air / block.n_cylinders,
        trapped_mass=float(np.mean(record.trapped_mass)),
        residual=float(np.average(record.residual_fraction, weights=record.trapped_mass)),
        short_circuit=lost / (air + delivered),
        lambda_trapped=fuel.air_ratio(kept_air, kept_fuel, humidity, stoich),
        lambda_overall=fuel.air_ratio(drawn, record.fuel_ambient, humidity, stoich),
        air_flow=fuel.per_second(drawn, record.rpm),
        fuel_flow=fuel_flow,
        bsfc=fuel.specific_consumption(fuel_flow, power),
        p_max=p_max,
        theta_p_max=theta_p_max,
        ca10=float(np.mean(record.ca10)),
        ca50=float(np.mean(record.ca50)),
        ca90=float(np.mean(record.ca90)),
        spark=record.spark,
        knock_margin=record.knock_margin,
        octane_margin=knock.octane_margin(octane, float(np.max(record.knock_integral))),
        egt=exhaust_temperature(
            tables, record.exhaust_mass, record.exhaust_enthalpy, spare_air, unburned
        ),
        inlet_mach=_inlet_mach(case, tables, record.intake_area, speed),
        piston_speed=speed,
        manifold_pressure=manifold,
        manifold_depression=case.air.pressure - manifold,
        n_cylinders=block.n_cylinders,
        displacement=swept,
        air_pressure=case.air.pressure,
        air_temperature=case.air.temperature,
        air_density=open_air,
        volume_full=way.volume_full,
        mass_filled=way.mass_filled,
        r_filled=way.r_filled,
        p_filled=way.p_filled,
        backflow=way.backflow,
        p_port=way.p_port,
        p_port_closing=way.p_port_closing,
        t_port=way.t_port,
        t_mixed=way.t_mixed,
        t_warmed=way.t_warmed,
        released_heat=burned * tables.liquid_enthalpy,
        wall_heat=filling.closed_wall_heat(record),
        heat_brake=split.brake,
        heat_friction=split.friction,
        heat_walls=split.walls,
        heat_incomplete=split.incomplete,
        heat_exhaust=split.exhaust,
        converged=record.converged,
        status=record.status,
        cycles=record.cycles,
        mass_error=record.mass_error,
        energy_error=record.energy_error,
        imbalance=record.imbalance,
        work_error=sampled / float(np.sum(record.work)) - 1.0,
    )


def _plenum(record: CycleRecord, r_gas: float) -> tuple[float, float]:
    """Mean pressure [Pa] and density [kg/m3] of the plenums; not numbers where there is none."""
    rows = [i for i, name in enumerate(record.volume_names) if name.startswith(PLENUM)]
    if not rows:
        return nan, nan
    p, t = record.volume_pressure[rows], record.volume_temperature[rows]
    return breathing.cycle_mean(p), breathing.mean_density(p, t, r_gas)


def _latent(case: Case, tables: GasTables, record: CycleRecord) -> Samples:
    """Heat that fuel evaporating in each cylinder takes from the gas [J]."""
    outside = 0.0 if case.fuel.delivery == "direct" else case.fuel.evaporated_fraction
    from_gas = (1.0 - case.fuel.wall_heat_share) * tables.heat_of_vaporisation
    latent: Samples = record.fuel_in * (1.0 - outside) * from_gas
    return latent


def _inlet_mach(case: Case, tables: GasTables, area: Samples | None, speed: float) -> float:
    """Inlet Mach index; not a number where the record was kept without valve areas."""
    if area is None:
        return nan
    pure = np.array([1.0, 0.0, 0.0])
    t = case.air.temperature
    a = breathing.sound_speed(
        float(gas_constant(tables, pure)), float(heat_capacity(tables, t, pure)), t
    )
    return breathing.inlet_mach_index(case.block.bore, speed, breathing.open_mean(area), a)
