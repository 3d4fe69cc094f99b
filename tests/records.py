"""
Invented records of cycles, for tests of what is made from a record.

Not simulated: a polytropic compression, a Wiebe burn, an expansion and plausible gas exchange are
put together so that every channel has the right shape, sign and size, and some integrals have
values that can be worked out by hand.
"""

from __future__ import annotations

from functools import cache
from math import pi
from typing import Any

import numpy as np

from enginesim.case import Case, loads
from enginesim.cycle.record import CycleRecord, Tract

DEG = pi / 180
BORE, STROKE, ROD, RATIO = 0.100, 0.085, 0.140, 9.5
SWEPT = pi / 4 * BORE**2 * STROKE
R_AIR = 287.05
P_AIR, T_AIR = 99.0e3, 298.15


_CASE = """
name = "Invented four"
[block]
n_cylinders = 4
bore = "100 mm"
stroke = "85 mm"
rod_length = "140 mm"
compression_ratio = 9.5
[head.intake]
peak_flow = "180 cfm @ 28 inH2O"
valve_diameter = "46 mm"
[head.exhaust]
valve_diameter = "37 mm"
[cam]
lifter = "hydraulic flat"
lobe_separation = 110
[cam.intake]
durations = "214 @ 0.050 in"
valve_lift = "11.5 mm"
[cam.exhaust]
durations = "218 @ 0.050 in"
valve_lift = "11.0 mm"
[intake]
layout = "single plenum"
[throttle]
kind = "carburettor"
flow = "350 cfm @ 1.5 inHg"
[exhaust]
layout = "4-into-1"
primary_diameter = "38 mm"
[fuel]
name = "gasoline 91"
delivery = "carburettor"
"""


@cache
def case(n_cylinders: int = 4, **changes: str) -> Case:
    """An invented engine; fields change by ``friction__model="quadratic"``."""
    overrides = [f"{path.replace('__', '.')}={value}" for path, value in changes.items()]
    return loads(_CASE, [f"block.n_cylinders={n_cylinders}", *overrides])


def piston_volume(angle: np.ndarray) -> np.ndarray:
    """Volume of a cylinder at its own crank angle [m3]."""
    crank = STROKE / 2
    travel = crank + ROD - crank * np.cos(angle) - np.sqrt(ROD**2 - (crank * np.sin(angle)) ** 2)
    return SWEPT / (RATIO - 1) + pi / 4 * BORE**2 * travel


def _lift(angle: np.ndarray, centre: float, half: float, height: float) -> np.ndarray:
    x = np.clip((angle - centre) / half, -1.0, 1.0)
    return height * (1.0 - x**2) ** 2 * (1 + 0.4 * x**2)


def _own_cycle(spark: float) -> dict[str, np.ndarray]:
    """Channels of one cylinder over its own angles, -360 to 360 deg by degrees."""
    angle = np.linspace(-2 * pi, 2 * pi, 721)
    volume = piston_volume(angle)
    x = np.clip((angle + spark - 5 * DEG) / (60 * DEG), 0.0, 1.0)
    burned = 1 - np.exp(-5 * x**3)
    p = np.empty_like(angle)
    inlet = 0.97e5 - 0.05e5 * np.sin(np.clip(angle + 2 * pi, 0, pi))
    i_close, i_open = 360 - 130, 360 + 125
    p[:i_close] = inlet[:i_close]
    heat = 1900.0  # J, about 0.8 of the heat of 0.055 g of gasoline
    for i in range(i_close, 721):
        v = 0.5 * (volume[i] + volume[i - 1])
        dv = volume[i] - volume[i - 1]
        p[i] = p[i - 1] - 1.30 * p[i - 1] * dv / v + 0.30 * heat * (burned[i] - burned[i - 1]) / v
    after = np.arange(721 - i_open)
    p[i_open:] = 1.06e5 + (p[i_open] - 1.06e5) * np.exp(-after / 22)
    p[-30:] += (p[0] - p[-1]) * np.linspace(0, 1, 30) ** 2
    mass = np.interp(
        angle / DEG, [-360, -340, -130, 125, 200, 345, 360], [45, 40, 560, 560, 260, 50, 45]
    )
    mass = mass * 1e-6 * SWEPT / 0.5e-3
    d_mass = np.gradient(mass, angle)
    t = p * volume / (mass * R_AIR)
    intake = _lift(angle, -252 * DEG, 135 * DEG, 0.0115)
    intake += _lift(angle, 468 * DEG, 135 * DEG, 0.0115)
    exhaust = _lift(angle, 252 * DEG, 132 * DEG, 0.0110)
    exhaust += _lift(angle, -468 * DEG, 132 * DEG, 0.0110)
    return {
        "pressure": p,
        "volume": volume,
        "temperature": t,
        "temperature_unburned": np.where(burned < 0.99, 330 * (p / 0.95e5) ** 0.25, t),
        "mass": mass,
        "burned_fraction": np.where(np.abs(angle) < 125 * DEG, burned, 0.0),
        "intake_flow": np.where(intake > 0, np.maximum(d_mass, 0), 0),
        "exhaust_flow": np.where(exhaust > 0, np.maximum(-d_mass, 0), 0),
        "heat_rate": 1e3 + 9e4 * np.exp(-(((angle - 20 * DEG) / 0.4) ** 2)),
        "knock_integral": 0.6 * burned * (np.abs(angle) < 125 * DEG),
        "intake_lift": intake,
        "exhaust_lift": exhaust,
        "intake_area": 0.55 * pi / 4 * 0.046**2 * intake / 0.0115,
        "port_pressure": 0.965e5 + 4e3 * np.cos(3 * angle),
        "port_velocity": 6e3 * intake,
        "port_temperature": np.full_like(angle, 312.0),
    }


def record(
    rpm: float = 4000.0, n_cylinders: int = 4, *, traces: bool = False, **changes: Any
) -> CycleRecord:
    """Record of an invented engine that fires evenly; fields can be replaced by name."""
    theta = np.linspace(0.0, 4 * pi, 721)
    order = [1, 3, 4, 2] if n_cylinders == 4 else list(range(1, n_cylinders + 1))
    interval = 4 * pi / n_cylinders
    phase = np.array([order.index(i + 1) * interval for i in range(n_cylinders)])
    spark = (28 + (rpm - 4000) / 500) * DEG
    own = _own_cycle(spark)
    shift = np.rint(phase / DEG).astype(int)
    channels = {
        # sample j of the engine is the cylinder's own angle (j - shift), brought into its cycle
        name: np.stack([np.append(r := np.roll(v[:-1], 360 + s), r[0]) for s in shift])
        for name, v in own.items()
    }
    omega = rpm * pi / 30
    channels["intake_flow"] = channels["intake_flow"] * omega
    channels["exhaust_flow"] = channels["exhaust_flow"] * omega
    filling = 0.92 - ((rpm - 4200) / 5200) ** 2 + 0.02 * np.sin(rpm / 350)
    air = filling * P_AIR / (R_AIR * T_AIR) * SWEPT
    fuel = air / 12.9
    loop = float(np.trapezoid(own["pressure"], own["volume"])) * filling / 0.92
    each = np.ones(n_cylinders)
    uneven = 1 + 0.01 * np.cos(np.arange(n_cylinders))
    values: dict[str, Any] = {
        "rpm": rpm,
        "theta": theta,
        "phase": phase,
        "cylinder_names": tuple(f"cylinder {i + 1}" for i in range(n_cylinders)),
        **channels,
        "volume_pressure": np.stack(
            [P_AIR - 2.5e3 * (rpm / 5000) ** 2 + 900 * np.sin(theta), 1.04e5 + 0 * theta]
        ),
        "volume_temperature": np.stack([305 + 0 * theta, 1050 + 0 * theta]),
        "volume_names": ("plenum", "merge 1"),
        "duct_names": (),
        "work": loop * uneven,
        "work_gross": (loop + 0.3e5 * (rpm / 5000) ** 2 * SWEPT) * uneven,
        "air_in": air * uneven,
        "fuel_in": fuel * uneven,
        "fuel_burned": 0.96 * fuel * uneven,
        "air_ambient": float(np.sum(air * uneven)),
        "fuel_ambient": float(np.sum(fuel * uneven)),
        "exhaust_mass": float(np.sum((air + fuel) * uneven)),
        "exhaust_enthalpy": float(np.sum((air + fuel) * uneven)) * 2.6e6 * 0.42,
        "trapped_mass": 1.05 * (air + fuel) * uneven,
        "residual_fraction": 0.05 * each,
        "short_circuit": 0.01 * (air + fuel) * each,
        "heat_walls": 0.2 * 43e6 * fuel * each,
        "blow_by": 0.0,
        "spark": spark,
        "ca10": (-spark + 25 * DEG) * each,
        "ca50": (-spark + 36 * DEG) * each,
        "ca90": (-spark + 51 * DEG) * each,
        "knock_margin": 4 * DEG,
        "converged": True,
        "ending": "periodic",
        "swing": np.zeros(n_cylinders),
        "status": "periodic after 5 cycles",
        "convergence": (
            (8.1e5, 2e-2),
            (8.9e5, 3e-3),
            (9.01e5, 4e-4),
            (9.02e5, 6e-5),
            (9.02e5, 2e-5),
        ),
        "cycles": 5,
        "steps": 4200,
        "rejected": 1,
        "mass_error": 3e-15,
        "energy_error": -2e-14,
        "imbalance": 2e-5,
        "case": case(),
    }
    if traces:
        values |= _waves(theta, phase, rpm)
    return CycleRecord(**(values | changes))


def _waves(theta: np.ndarray, phase: np.ndarray, rpm: float) -> dict[str, Any]:
    """Two tracts with a wave that runs to the far end and back upside down."""
    distance = np.concatenate([np.arange(25) * 0.02 + 0.01, np.arange(40) * 0.025 + 0.0125])
    rows = (np.arange(25), 25 + np.arange(40))
    p = np.empty((65, len(theta)))
    for cells, (speed, size, centre, span, mean) in zip(
        rows, ((345.0, -9e3, -255, 0.5, 0.98e5), (560.0, 28e3, 170, 1.0, 1.05e5)), strict=True
    ):
        p[cells] = mean
        for bounce in range(5):
            way = 2 * span * ((bounce + 1) // 2) + (-1) ** bounce * distance[cells, None]
            delay = way / speed * rpm * pi / 30
            own = (theta[None, :] - phase[0] - centre * DEG - delay + 2 * pi) % (4 * pi) - 2 * pi
            p[cells] += size * (-0.7) ** ((bounce + 1) // 2) * np.exp(-((own / 0.45) ** 2))
    return {
        "duct_names": ("intake 1", "exhaust 1"),
        "duct_pressure": p,
        "duct_velocity": np.zeros_like(p),
        "duct_temperature": np.full_like(p, 330.0),
        "tracts": (
            Tract("intake 1", "intake", 0, rows[0], distance[rows[0]],
                  (("port", 0.12), ("plenum", 0.50))),
            Tract("exhaust 1", "exhaust", 0, rows[1], distance[rows[1]],
                  (("port", 0.08), ("primary", 0.75), ("open air", 1.00))),
        ),
    }  # fmt: skip
