"""Every number of one engine at one speed: its unit, its meaning, how it is shown and kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from enginesim.base.quantity import quantities, quantity, unknown


@dataclass(frozen=True, kw_only=True, slots=True)
class Performance:
    """
    One engine at one speed, SI. Means are over the cylinders unless a definition says otherwise.

    Fields are attributes; ``performance["torque"]`` asks by name and knows the nearest one.
    :func:`enginesim.base.quantity.quantities` lists the unit and definition of each.
    """

    rpm: float = quantity(
        "rpm",
        "engine speed",
        "Turns of the crank per minute.",
        kind="speed",
        in_files=("rpm", "rpm"),
    )
    torque: float = quantity(
        "N m",
        "torque",
        "Brake torque: indicated net less friction.",
        kind="torque",
        in_files=("torque_Nm", "N*m"),
    )
    power: float = quantity(
        "W", "power", "Brake torque times crank speed.", kind="power", in_files=("power_kW", "kW")
    )
    torque_indicated: float = quantity(
        "N m",
        "indicated torque",
        "Torque of the net work of the gas on the pistons.",
        kind="torque",
        in_files=("torque_indicated_Nm", "N*m"),
    )
    ve: float = quantity(
        "-",
        "volumetric efficiency",
        "Humid air through the intake valves per cycle, over what fills the displacement "
        "at the pressure and temperature of the open air.",
        kind="percent",
    )
    ve_plenum: float = quantity(
        "-",
        "volumetric efficiency, plenum",
        "The same on the mean density in the plenum; not a number where there is none.",
        kind="percent",
    )
    delivery_ratio: float = quantity(
        "-",
        "delivery ratio",
        "Air drawn from the open air, over what fills the displacement at its density.",
        kind="percent",
    )
    imep_net: float = quantity(
        "Pa",
        "IMEP net",
        "Work of the whole cycle over displacement.",
        kind="mean pressure",
        in_files=("imep_bar", "bar"),
    )
    imep_gross: float = quantity(
        "Pa",
        "IMEP gross",
        "Work of compression and expansion over displacement.",
        kind="mean pressure",
        in_files=("imep_gross_bar", "bar"),
    )
    pmep: float = quantity(
        "Pa",
        "PMEP",
        "Pumping: gross less net indicated; positive when it costs work.",
        kind="mean pressure",
        in_files=("pmep_bar", "bar"),
    )
    fmep: float = quantity(
        "Pa",
        "FMEP",
        "Friction by the case's law, accessories included, pumping not.",
        kind="mean pressure",
        in_files=("fmep_bar", "bar"),
    )
    bmep: float = quantity(
        "Pa",
        "BMEP",
        "Net indicated less friction.",
        kind="mean pressure",
        in_files=("bmep_bar", "bar"),
    )
    imep_spread: float = quantity(
        "-", "IMEP spread", "Net work of the best cylinder less that of the worst, over the mean."
    )
    air_spread: float = quantity(
        "-", "air spread", "Air of the fullest cylinder less that of the emptiest, over the mean."
    )
    air_trapped: float = quantity(
        "kg",
        "air trapped",
        "Air of a cycle that stayed in a cylinder: in, less short-circuited.",
        in_files=("air_trapped_g", "g"),
    )
    trapped_mass: float = quantity(
        "kg",
        "trapped mass",
        "Gas in a cylinder when its intake valves have closed.",
        in_files=("trapped_mass_g", "g"),
    )
    residual: float = quantity(
        "-",
        "residual",
        "Burned gas in the trapped mass, by mass; all cylinders together.",
        kind="percent",
    )
    short_circuit: float = quantity(
        "-",
        "short circuit",
        "Fresh charge lost unburned through the exhaust, over what came in.",
        kind="percent",
    )
    lambda_overall: float = quantity(
        "-",
        "lambda",
        "Relative air-fuel ratio of air drawn and fuel delivered.",
        kind="number",
        in_files=("lambda", ""),
    )
    lambda_trapped: float = quantity(
        "-",
        "lambda trapped",
        "Relative air-fuel ratio of the fresh charge that stayed.",
        kind="number",
    )
    bsfc: float = quantity(
        "kg/J",
        "BSFC",
        "Fuel flow over brake power; not a number where there is none.",
        kind="consumption",
        in_files=("bsfc_g_kWh", "g/kW/h"),
    )
    air_flow: float = quantity(
        "kg/s",
        "air flow",
        "Humid air drawn from the open air.",
        kind="flow",
        in_files=("air_kg_h", "kg/h"),
    )
    fuel_flow: float = quantity(
        "kg/s", "fuel flow", "Fuel delivered.", kind="fuel flow", in_files=("fuel_kg_h", "kg/h")
    )
    p_max: float = quantity(
        "Pa",
        "peak pressure",
        "Highest cylinder pressure of any cylinder.",
        kind="cylinder pressure",
        in_files=("p_max_bar", "bar"),
    )
    theta_p_max: float = quantity(
        "rad",
        "angle of peak pressure",
        "After firing top dead centre, in that cylinder.",
        kind="angle",
        in_files=("theta_p_max_deg", "deg"),
    )
    ca10: float = quantity(
        "rad",
        "10 % burned",
        "Crank angle after firing top dead centre.",
        kind="angle",
        in_files=("ca10_deg", "deg"),
    )
    ca50: float = quantity(
        "rad",
        "50 % burned",
        "Crank angle after firing top dead centre.",
        kind="angle",
        in_files=("ca50_deg", "deg"),
    )
    ca90: float = quantity(
        "rad",
        "90 % burned",
        "Crank angle after firing top dead centre.",
        kind="angle",
        in_files=("ca90_deg", "deg"),
    )
    spark: float = quantity(
        "rad",
        "spark advance",
        "Before firing top dead centre.",
        kind="angle",
        in_files=("spark_deg", "deg"),
    )
    knock_margin: float = quantity(
        "rad",
        "knock margin",
        "Spark that could be added before the worst cylinder knocks.",
        kind="angle",
        in_files=("knock_margin_deg", "deg"),
    )
    octane_margin: float = quantity(
        "-",
        "octane margin",
        "Octane, (R+M)/2, that could be given up before it knocks.",
        kind="octane",
        in_files=("knock_margin_octane", ""),
    )
    egt: float = quantity(
        "K",
        "exhaust temperature",
        "Enthalpy-averaged over the flow through the exhaust valves; not a number where too little "
        "flows out.",
        kind="temperature",
        in_files=("egt_K", "K"),
    )
    inlet_mach: float = quantity(
        "-",
        "inlet Mach index",
        "Piston area times mean piston speed over mean effective intake valve area times "
        "sound speed of the open air.",
        kind="number",
    )
    piston_speed: float = quantity(
        "m/s",
        "mean piston speed",
        "Two strokes per turn.",
        kind="velocity",
        in_files=("piston_speed_m_s", "m/s"),
    )
    manifold_pressure: float = quantity(
        "Pa",
        "manifold pressure",
        "Mean in the plenum; not a number where there is none.",
        in_files=("manifold_bar", "bar"),
    )
    manifold_depression: float = quantity(
        "Pa",
        "manifold depression",
        "Open air less manifold pressure.",
        kind="depression",
        in_files=("manifold_depression_kPa", "kPa"),
    )
    n_cylinders: int = quantity("-", "cylinders", "Number of cylinders.")
    displacement: float = quantity(
        "m3", "displacement", "Of all cylinders.", kind="volume", in_files=("displacement_L", "L")
    )
    air_pressure: float = quantity(
        "Pa",
        "barometer",
        "Pressure of the open air.",
        kind="barometer",
        in_files=("air_bar", "bar"),
    )
    air_temperature: float = quantity(
        "K",
        "air temperature",
        "Temperature of the open air.",
        kind="temperature",
        in_files=("air_K", "K"),
    )
    air_density: float = quantity(
        "kg/m3",
        "air density",
        "Density of the open air, humid.",
        in_files=("air_density_kg_m3", "kg/m3"),
    )
    volume_full: float = quantity(
        "m3",
        "volume when full",
        "Greatest volume of a cylinder.",
        kind="volume",
        in_files=("volume_full_cc", "cc"),
    )
    mass_filled: float = quantity(
        "kg",
        "mass at the end of inflow",
        "Greatest mass in a cylinder before it fires.",
        in_files=("mass_filled_g", "g"),
    )
    r_filled: float = quantity(
        "J/(kg K)",
        "gas constant of the charge",
        "Of that mass.",
        in_files=("r_filled_J_kg_K", "J/kg/K"),
    )
    p_filled: float = quantity(
        "Pa",
        "pressure at the end of inflow",
        "Cylinder pressure when the inflow ends, expanded to the greatest volume.",
        kind="duct pressure",
        in_files=("p_filled_bar", "bar"),
    )
    backflow: float = quantity(
        "-",
        "backflow",
        "Part of that mass which is pushed back before the intake valves close.",
        kind="percent",
    )
    p_port: float = quantity(
        "Pa",
        "port pressure",
        "Total pressure ahead of the intake valves, mean of what flows in; not a number "
        "without ducts.",
        kind="duct pressure",
        in_files=("p_port_bar", "bar"),
    )
    p_port_closing: float = quantity(
        "Pa",
        "port pressure at closing",
        "The same, mean of the last fifth that flows in; not a number without ducts.",
        kind="duct pressure",
        in_files=("p_port_closing_bar", "bar"),
    )
    t_port: float = quantity(
        "K",
        "port temperature",
        "Total temperature ahead of the intake valves, mean of what flows in; not a "
        "number without ducts.",
        kind="temperature",
        in_files=("t_port_K", "K"),
    )
    t_mixed: float = quantity(
        "K",
        "temperature when mixed",
        "Of the inflow with the gas that was left in the cylinder; not a number without ducts.",
        kind="temperature",
        in_files=("t_mixed_K", "K"),
    )
    t_warmed: float = quantity(
        "K",
        "temperature when warmed",
        "The same with the heat of the cylinder walls until the inflow ends, less that "
        "of fuel evaporating inside; not a number without ducts.",
        kind="temperature",
        in_files=("t_warmed_K", "K"),
    )
    released_heat: float = quantity(
        "J",
        "heat released",
        "By burning, per cycle, all cylinders.",
        in_files=("released_heat_J", "J"),
    )
    wall_heat: float = quantity(
        "J",
        "wall heat",
        "To the cylinder walls during compression and expansion, per cycle, all cylinders.",
        in_files=("wall_heat_J", "J"),
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
    ending: str = quantity("", "ending", "Periodic, alternating, unsteady or not periodic.")
    torque_swing: float = quantity(
        "N m",
        "swing of the torque",
        "What a strong cycle gives above the mean, and a weak one below; 0 unless they alternate.",
        kind="torque",
        in_files=("torque_swing_Nm", "N*m"),
    )
    imep_swing: float = quantity(
        "Pa",
        "swing of the IMEP",
        "The same of the net mean effective pressure in the cylinder where it is greatest.",
        in_files=("imep_swing_bar", "bar"),
    )
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
