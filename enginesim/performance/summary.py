"""What does one record say about the engine at that speed?"""

from __future__ import annotations

from math import nan, pi
from typing import TYPE_CHECKING

import numpy as np

from enginesim.formulas.crank import swept_volume
from enginesim.gas import gas_constant, heat_capacity
from enginesim.performance import breathing, burn, filling, friction, fuel, indicated, knock
from enginesim.performance.energy import exhaust_temperature, heat_split
from enginesim.performance.results import Performance

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.cycle.record import CycleRecord, Samples
    from enginesim.gas import GasTables

#: Names of the volumes whose pressure is the manifold's begin with this.
PLENUM = "plenum"


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
    worked = float(np.sum(record.work))
    gross = indicated.mean_pressure(float(np.sum(record.work_gross)), swept)
    net = indicated.mean_pressure(worked, swept)
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
        worked,
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
        ending=record.ending,
        torque_swing=abs(float(np.sum(record.swing))) / (4.0 * pi),
        imep_swing=float(np.abs(record.swing).max()) * block.n_cylinders / swept,
        status=record.status,
        cycles=record.cycles,
        mass_error=record.mass_error,
        energy_error=record.energy_error,
        imbalance=record.imbalance,
        work_error=sampled / worked - 1.0 if worked != 0.0 else nan,
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
