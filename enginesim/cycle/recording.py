"""How does a finished run become a record?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from enginesim.cycle.ignition import typical_parts
from enginesim.cycle.inventory import evaporation_heat
from enginesim.cycle.probes import first_cells, port_cells
from enginesim.cycle.record import CycleRecord, Tract
from enginesim.cycle.simulation import CYCLE, N_SAMPLE, Run
from enginesim.cycle.spark import knock_margin
from enginesim.kernels import cylinder_layout as cl
from enginesim.kernels import layout as at
from enginesim.kernels.sampling import cylinder_volumes
from enginesim.network.intake import OPEN_AIR

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from enginesim.cycle.period import Ending
    from enginesim.network.engine import Engine
    from enginesim.network.pieces import Duct


def recorded(run: Run, ending: Ending, traces: bool) -> CycleRecord:
    """
    Record of a run's last cycle.

    Parameters
    ----------
    run : Run
        A run with at least one cycle.
    ending : Ending
        How it ended.
    traces : bool
        Whether duct cells were written on the tape.

    Returns
    -------
    CycleRecord
        Channels, integrals and audit.

    Raises
    ------
    ValueError
        If the run has no cycle yet.
    """
    network, state = run.engine.network, run.engine.state
    books = run.books
    if books is None:
        msg = "a run without a cycle has no record"
        raise ValueError(msg)
    n = network.plan.n_cylinders
    theta = np.linspace(0.0, CYCLE, N_SAMPLE)
    cylinders = run.tape[:, : n * at.K_PER_CYLINDER].reshape(N_SAMPLE, n, at.K_PER_CYLINDER)
    channel = np.ascontiguousarray(cylinders.transpose(2, 1, 0))
    volume = np.empty((n, N_SAMPLE))
    cylinder_volumes(volume, run.par, network.phase, theta)
    is_volume = np.flatnonzero(state.res[:, at.V_VOLUME] > 0.0)
    places = n * at.K_PER_CYLINDER + 2 * is_volume
    own = (theta[None, :] - network.phase[:, None]) % CYCLE
    curves = run.engine.prepared.valves.curves
    area = network.valve_area[:, 0]
    trapped = state.cyl[:, [cl.C_IVC_AIR, cl.C_IVC_FUEL, cl.C_IVC_BURNED]].sum(axis=1)
    leaks = state.cyl[:, [cl.C_LEAK_AIR, cl.C_LEAK_FUEL, cl.C_LEAK_BURNED]]
    out = state.exchange
    kept = _port_channels(run, traces) | (_duct_channels(run) if traces else {})
    return CycleRecord(
        rpm=run.rpm,
        theta=theta,
        phase=network.phase.copy(),
        cylinder_names=tuple(f"cylinder {k + 1}" for k in range(n)),
        pressure=channel[at.K_P],
        volume=volume,
        temperature=channel[at.K_T],
        temperature_unburned=channel[at.K_T_UNBURNED],
        mass=channel[at.K_MASS],
        burned_fraction=channel[at.K_BURNED],
        intake_flow=channel[at.K_INTAKE],
        exhaust_flow=channel[at.K_EXHAUST],
        heat_rate=channel[at.K_HEAT],
        knock_integral=channel[at.K_KNOCK],
        volume_pressure=np.ascontiguousarray(run.tape[:, places].T),
        volume_temperature=np.ascontiguousarray(run.tape[:, places + 1].T),
        volume_names=tuple(network.plan.volumes[i].name for i in is_volume),
        duct_names=tuple(duct.name for duct in network.plan.ducts),
        work=state.cyl[:, cl.C_WORK].copy(),
        work_gross=state.cyl[:, cl.C_WORK_GROSS].copy(),
        air_in=out[:, at.X_SUM_AIR].copy(),
        fuel_in=out[:, at.X_SUM_FUEL].copy(),
        fuel_burned=state.cyl[:, cl.C_FUEL_BURNED].copy(),
        air_ambient=_air_drawn(run),
        fuel_ambient=books.fuel,
        exhaust_mass=float(out[:, at.X_SUM_OUT].sum()),
        exhaust_enthalpy=float(out[:, at.X_SUM_OUT_ENERGY].sum()),
        trapped_mass=trapped,
        residual_fraction=state.cyl[:, cl.C_IVC_BURNED] / trapped,
        short_circuit=_short_circuit(run),
        heat_walls=state.cyl[:, cl.C_HEAT] - evaporation_heat(network, state),
        blow_by=float(leaks.sum()),
        spark=run.spark,
        ca10=state.cyl[:, cl.C_LAST_CA10].copy(),
        ca50=state.cyl[:, cl.C_LAST_CA50].copy(),
        ca90=state.cyl[:, cl.C_LAST_CA90].copy(),
        knock_margin=_knock_margin(run),
        converged=ending.kind != "not periodic",
        ending=ending.kind,
        swing=np.zeros(n),
        status=ending.reason,
        convergence=tuple(run.history),
        cycles=len(run.history),
        steps=int(state.clock[at.T_STEPS]),
        rejected=int(state.clock[at.T_REJECTED]),
        mass_error=books.mass_gap / max(abs(books.air), 1e-12),
        energy_error=books.energy_gap / max(books.fuel_heat, 1e-12),
        imbalance=books.imbalance,
        intake_lift=np.interp(own, curves.angle, curves.intake),
        exhaust_lift=np.interp(own, curves.angle, curves.exhaust),
        intake_area=np.interp(own, np.linspace(0.0, CYCLE, len(area)), area),
        case=run.case,
        **kept,
    )


def _air_drawn(run: Run) -> float:
    """Air that left the open air at the intake, net."""
    volumes = run.engine.network.plan.volumes
    gain = run.engine.state.res[[volume.name for volume in volumes].index(OPEN_AIR)]
    return float(gain[at.V_GAIN_BURNED] + gain[at.V_GAIN_FUEL] - gain[at.V_GAIN_MASS])


def _short_circuit(run: Run) -> NDArray[np.float64]:
    """
    Fresh air and fuel that left unburned.

    With a rich or lean mixture, and behind the part that does not burn, some of what leaves is
    what the flame left over; only what exceeds that is charge that passed straight through.
    """
    state = run.engine.state
    out = state.exchange[:, at.X_SUM_OUT_AIR] + state.exchange[:, at.X_SUM_OUT_FUEL]
    fuel_left = state.cyl[:, cl.C_IVC_FUEL] - state.cyl[:, cl.C_FUEL_BURNED]
    burned_air = state.cyl[:, cl.C_FUEL_BURNED] / run.engine.network.gas[at.G_FUEL_AIR]
    air_left = state.cyl[:, cl.C_IVC_AIR] - burned_air
    result: NDArray[np.float64] = np.maximum(out - fuel_left - air_left, 0.0)
    return result


def _knock_margin(run: Run) -> float:
    return float(knock_margin(typical_parts(run), -run.spark))


def _cells_on_tape(run: Run) -> NDArray[np.float64]:
    """Pressure, velocity and temperature of the duct cells written down, by sample and cell."""
    start = run.engine.state.lines.shape[1]
    return run.tape[:, start:].reshape(N_SAMPLE, len(run.places), 3)


def _port_channels(run: Run, traces: bool) -> dict[str, Any]:
    """Channels of the duct cell next to each cylinder's intake valves; none without ducts."""
    cells, towards = port_cells(run.engine.network)
    if not len(cells):
        return {}
    rows = _cells_on_tape(run)[:, cells] if traces else _cells_on_tape(run)
    p, u, t = (np.ascontiguousarray(rows[:, :, k].T) for k in range(3))
    return {"port_pressure": p, "port_velocity": u * towards[:, None], "port_temperature": t}


def _duct_channels(run: Run) -> dict[str, Any]:
    cells = _cells_on_tape(run)
    p, u, t = (np.ascontiguousarray(cells[:, :, k].T) for k in range(3))
    return {
        "duct_pressure": p,
        "duct_velocity": u,
        "duct_temperature": t,
        "tracts": tracts(run.engine),
    }


def tracts(engine: Engine) -> tuple[Tract, ...]:
    """
    Ways from the valves outwards: the duct at each valve, then, on the exhaust, what follows.

    Parameters
    ----------
    engine : Engine
        The arrays and their plan.

    Returns
    -------
    tuple of Tract
        Intake and exhaust of every cylinder.
    """
    plan, network = engine.network.plan, engine.network
    first = first_cells(network)
    found = []
    for d, duct in enumerate(plan.ducts):
        for is_finish, end in enumerate((duct.start, duct.finish)):
            if end.kind == "valve":
                found.append(_tract(engine, d, bool(is_finish), first))
    return tuple(found)


def _tract(engine: Engine, d: int, from_finish: bool, first: NDArray[np.int64]) -> Tract:
    plan = engine.network.plan
    meshes = engine.network.meshes
    valve_end = plan.ducts[d].finish if from_finish else plan.ducts[d].start
    cells: list[NDArray[np.int64]] = []
    distances: list[NDArray[np.float64]] = []
    marks: list[tuple[str, float]] = []
    passed = 0.0
    seen: set[int] = set()
    current: int | None = d
    backwards = from_finish
    while current is not None and current not in seen:
        seen.add(current)
        duct, mesh = plan.ducts[current], meshes[current]
        n = len(mesh.volume)
        index = np.arange(first[current], first[current] + n)
        cells.append(index[::-1] if backwards else index)
        distances.append(passed + (np.arange(n, dtype=np.float64) + 0.5) * mesh.dx)
        marks.extend(_joints(duct, backwards, passed))
        passed += duct.length
        far = duct.start if backwards else duct.finish
        marks.append((_end_name(engine, far.kind, far.target), passed))
        current = None
        if far.kind == "volume" and valve_end.side == "exhaust":
            current = next(
                (
                    k
                    for k, other in enumerate(plan.ducts)
                    if other.start.kind == "volume" and other.start.target == far.target
                ),
                None,
            )
        backwards = False
    return Tract(
        name=f"{valve_end.side} {valve_end.target + 1}",
        side=valve_end.side,
        cylinder=valve_end.target,
        cells=np.concatenate(cells),
        distance=np.concatenate(distances),
        marks=tuple(marks),
    )


def _joints(duct: Duct, backwards: bool, passed: float) -> list[tuple[str, float]]:
    """The head's flange, where port and runner or primary meet."""
    if len(duct.sections) < 2:
        return []
    port = duct.sections[-1] if backwards else duct.sections[0]
    has_port = (duct.finish if backwards else duct.start).kind == "valve"
    return [("flange", passed + port.length)] if has_port else []


def _end_name(engine: Engine, kind: str, target: int) -> str:
    return engine.network.plan.volumes[target].name if kind in ("volume", "ambient") else kind
