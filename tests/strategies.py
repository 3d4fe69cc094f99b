"""Random plausible engines, for whatever must hold of any engine."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

#: Layouts of the exhaust by the cylinders of a bank.
EXHAUSTS = {
    1: ["single", "log"],
    2: ["2-into-1", "single", "log"],
    3: ["3-into-1", "single", "log"],
    4: ["4-into-1", "4-into-2-into-1", "single", "log"],
    5: ["single", "log"],
}
FUELS = ["gasoline 87", "gasoline 91", "gasoline 95", "gasoline 100", "e10", "e85", "ethanol",
         "methanol", "propane", "iso-octane"]  # fmt: skip


def _between(low: float, high: float, digits: int = 3) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda value: round(value, digits))


def _length(low: float, high: float) -> st.SearchStrategy[str]:
    """A length in inches, written in inches or millimetres."""

    def text(value: float, unit: str) -> str:
        return f"{value} in" if unit == "in" else f"{value * 25.4:.4g} mm"

    return st.builds(text, _between(low, high, 4), st.sampled_from(["in", "mm"]))


@st.composite
def plausible_cases(draw: st.DrawFn, max_cylinders: int = 8) -> dict[str, Any]:
    """
    Given values of a plausible engine, by dotted path, for `enginesim.case.assemble`.

    Dimensions are drawn in proportion (stroke to bore, valves and flow to bore, lift to valve), so
    that every one passes the checks; many fields are left to their defaults. Use
    `case.write(case.assemble(...))` where a TOML text is wanted.
    """
    n = draw(st.sampled_from([k for k in (1, 2, 3, 4, 6, 8) if k <= max_cylinders]))
    bore = draw(_between(2.6, 4.4))
    four_valve = draw(st.booleans())
    intake_valve = (0.39 if four_valve else 0.50) * bore * draw(_between(0.95, 1.0))
    exhaust_valve = (0.86 if four_valve else 0.79) * intake_valve
    # Best flow: 0.50 to 0.62 of the valve heads' area, 141 cfm a square inch at 28 inH2O.
    heads = (2 if four_valve else 1) * 0.785 * intake_valve**2
    flow = round(141 * heads * draw(_between(0.42, 0.55)), 1)
    vee = n == 8 or (n == 6 and draw(st.booleans()))
    bank = {1: 1, 2: 2, 3: 3, 4: 4, 6: 3, 8: 4}[n]
    layouts = ["single plenum", "individual throttles", "open stacks"]
    layout = draw(st.sampled_from(layouts + (["divided plenum"] if n >= 4 else [])))
    exhaust = draw(st.sampled_from(EXHAUSTS[bank]))
    lift = draw(_between(0.22, 0.30))
    given: dict[str, Any] = {
        "name": draw(st.sampled_from(["", "test engine", 'a "quoted" # name'])),
        "block.n_cylinders": n,
        "block.arrangement": "vee" if vee else "in-line",
        "block.bore": f"{bore} in",
        "block.stroke": f"{bore * draw(_between(0.8, 1.2)):.3f} in",
        "block.compression_ratio": draw(_between(8.0, 11.5, 2)),
        "head.intake.n_valves": 2 if four_valve else 1,
        "head.intake.valve_diameter": f"{intake_valve:.4f} in",
        "head.exhaust.valve_diameter": f"{exhaust_valve:.4f} in",
        "head.intake.peak_flow": f"{flow} cfm @ 28 inH2O",
        "cam.lobe_separation": draw(_between(104, 116, 1)),
        "cam.intake.durations": f"{draw(_between(195, 245, 1))} @ 0.050 in",
        "cam.exhaust.durations": f"{draw(_between(195, 250, 1))} deg @ 0.050 in",
        "cam.intake.valve_lift": f"{lift * intake_valve:.4f} in",
        "cam.exhaust.valve_lift": f"{lift * intake_valve:.4f} in",
        "intake.layout": layout,
        "exhaust.layout": exhaust,
    }
    flow_of_one = flow * draw(_between(0.6, 1.6))
    if layout != "open stacks":
        carburettor = layout != "individual throttles" and draw(st.booleans())
        rated = flow_of_one * (1 if layout == "individual throttles" else max(n / 3, 1.0))
        given["throttle.kind"] = "carburettor" if carburettor else "throttle body"
        given["throttle.flow"] = f"{rated:.1f} cfm @ {'1.5 inHg' if carburettor else '28 inH2O'}"
    if exhaust != "log":
        given["exhaust.primary_diameter"] = f"{0.38 * bore:.3f} in"
    more: dict[str, st.SearchStrategy[Any]] = {
        "cam.lifter": st.just("finger" if four_valve else "solid flat"),
        "cam.intake_centreline": st.just(f"{given['cam.lobe_separation'] - 2:.1f} deg"),
        "intake.runner_lengths": _length(3, 16),
        "intake.wall_temperature": st.sampled_from(["60 degC", "140 degF", "330 K"]),
        "exhaust.primary_lengths": _length(14, 40),
        "fuel.name": st.sampled_from(FUELS),
        "mixture.lambda": _between(0.82, 1.05),
        "air.temperature": st.sampled_from(["59 degF", "25 degC", "310 K"]),
        "air.humidity": _between(0.0, 0.9, 2),
        "block.rod_length": st.just(f"{bore * 1.7:.3f} in +- 0.02"),
    }
    for path, values in more.items():
        if draw(st.booleans()):
            given[path] = draw(values)
    return {path: value for path, value in given.items() if value != ""}
