"""Plausible road engines drawn at random, by a seed."""

from __future__ import annotations

from typing import Any

import numpy as np

#: Share of four-, six- and eight-cylinder engines among the cars of 1993, rounded.
_CYLINDERS = ((4, 0.55), (6, 0.35), (8, 0.10))
_LAYOUT = {4: "in-line", 6: "vee", 8: "vee"}


def drawn(seed: int) -> dict[str, Any]:
    """
    Given values of one engine, by dotted path.

    Dimensions are drawn in proportion, within what road engines had about 1990, evenly and without
    regard to each other: displacement of a cylinder 0.37 to 0.63 L, stroke 0.85 to 1.1 of the bore,
    two or four valves, cams of 190 to 222 deg at 0.050 in, flow of the head 0.40 to 0.52 of its
    valves' area. Everything else is the program's default: log manifolds, road muffler, long
    injected runners, friction, burn, walls.
    """
    rng = np.random.default_rng([seed, 1993])

    def even(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    n = int(rng.choice([k for k, _ in _CYLINDERS], p=[p for _, p in _CYLINDERS]))
    four_valve = bool(rng.random() < 0.4)
    stroke_ratio, cylinder = even(0.85, 1.10), even(0.37e6, 0.63e6)  # [mm3]
    bore = (cylinder / (0.25 * np.pi * stroke_ratio)) ** (1.0 / 3.0)  # [mm]
    valve = (0.385 if four_valve else 0.48) * bore * even(0.96, 1.02)
    heads = (2 if four_valve else 1) * 0.25 * np.pi * valve**2
    flow = 10.3e-2 * heads * even(0.40, 0.52)  # [L/s] at 7 kPa: 10.3 L/s for each cm2 of it
    duration, lift = even(190.0, 222.0), even(0.22, 0.27)
    separation = even(108.0, 115.0)
    throttle = even(0.75, 1.05) * bore * (n / 4.0) ** 0.5 * 0.62
    return {
        "name": f"random engine {seed}",
        "block.n_cylinders": n,
        "block.arrangement": _LAYOUT[n],
        "block.bore": f"{bore:.3f} mm",
        "block.stroke": f"{bore * stroke_ratio:.3f} mm",
        "block.compression_ratio": round(even(8.5, 10.2), 2),
        "head.valvetrain": "dohc" if four_valve else "ohv" if rng.random() < 0.5 else "sohc",
        "head.intake.n_valves": 2 if four_valve else 1,
        "head.intake.valve_diameter": f"{valve:.3f} mm",
        "head.intake.peak_flow": f"{flow:.2f} L/s @ 7 kPa",
        "cam.lobe_separation": round(separation, 2),
        "cam.intake.durations": f"{duration:.1f} @ 0.050 in",
        "cam.exhaust.durations": f"{duration + even(-2.0, 8.0):.1f} @ 0.050 in",
        "cam.intake.valve_lift": f"{lift * valve:.3f} mm",
        "cam.exhaust.valve_lift": f"{lift * valve:.3f} mm",
        "intake.layout": "single plenum",
        "throttle.kind": "throttle body",
        "throttle.diameter": f"{throttle:.2f} mm",
        "exhaust.layout": "log",
        "fuel.name": "gasoline 87",
        "mixture.lambda": round(even(0.86, 0.94), 3),
        # Coarser than by default, to save time: within 0.2 % of runs on 20 mm to rest.
        "numerics.cell_size": "40 mm",
        "numerics.cfl": 0.9,
        "numerics.bmep_tolerance": "4 kPa",
        "numerics.imbalance_tolerance": 2e-3,
        "numerics.max_cycles": 60,
    }
