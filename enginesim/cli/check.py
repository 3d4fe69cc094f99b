"""`enginesim check`: is the case sound, and what follows from it without simulating?"""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from enginesim.base.units import shown
from enginesim.cli.cautions import CAUTIONS
from enginesim.cli.screen import show_lines, show_list, show_table

if TYPE_CHECKING:
    from collections.abc import Callable

    from enginesim.case import Derived
    from enginesim.case.derived import PortAreas

_SPEEDS = (1000, 3000, 5000, 7000)
_SPEED_GUIDE = {
    "cast, stock": 17.78,
    "forged, heavy duty": 20.32,
    "drag racing": 25.4,
}  # 3500, 4000 and 5000 ft/min [m/s]: common practice
_US = {
    "length": "in",
    "area": "in2",
    "volume": "cc",
    "displacement": "in3",
    "speed": "ft/min",
}
_SI = {"length": "mm", "area": "cm2", "volume": "cc", "displacement": "L", "speed": "m/s"}


@click.command(name="check")
@click.argument("case", type=click.Path(path_type=Path))
@click.option("--set", "overrides", multiple=True, metavar="PATH=VALUE", help="Override a field.")
@click.option("--units", type=click.Choice(["us", "si"]), default="us", show_default=True)
@click.option("--brief", is_flag=True, help="Leave out the list of what was assumed.")
def command(case: Path, overrides: tuple[str, ...], units: str, brief: bool) -> None:
    """Check a case and show what follows from it without simulating."""
    from enginesim.case import check

    derived = check(case, overrides)
    names = _US if units == "us" else _SI

    def text(value: float, kind: str) -> str:
        return shown(value, names[kind])

    show_lines([f"{case}: sound" + (f" ({derived.case.name})" if derived.case.name else "")])
    show_table("Cylinders", ("", ""), _cylinders(derived, text))
    show_table("Valve events, crank degrees", *_events(derived, units))
    show_lines([f"  {_card(derived)}"])
    show_table("Valves and ports, one cylinder", ("", "intake", "exhaust"), _ports(derived, text))
    show_table("Mean piston speed", ("rpm", *map(str, _SPEEDS)), [_piston_speeds(derived, text)])
    show_list("Piston-speed guide (rules of the trade, no limits)", _guide(derived, text))
    _show_assumed(derived, units, brief)
    show_list("Warnings", [str(warning) for warning in derived.warnings])
    show_list("Cautions", CAUTIONS)


def _cylinders(derived: Derived, text: Callable[[float, str], str]) -> list[tuple[str, str]]:
    block = derived.case.block
    texts = dict.fromkeys((text(derived.displacement, "displacement"),
                           shown(derived.displacement, "L")))  # fmt: skip
    first, *others = texts
    rows = [
        ("displacement", " ".join([first, *(f"({other})" for other in others)])),
        ("bore x stroke", f"{text(block.bore, 'length')} x {text(block.stroke, 'length')}"),
        ("rod / stroke", f"{derived.rod_ratio:.3f}"),
        ("swept volume, one cylinder", text(derived.swept_volume, "volume")),
        ("clearance volume, one cylinder", text(derived.clearance_volume, "volume")),
        *((f"  of which {name}", text(v, "volume")) for name, v in derived.pieces.items()),
        ("compression ratio", f"{block.compression_ratio:.2f}"),
        ("the same from intake closing (dynamic)", f"{derived.trapped_ratio:.2f}"),
        ("firing order", "-".join(map(str, block.firing_order))),
    ]  # fmt: skip
    for bank, intervals in zip(block.banks, derived.bank_intervals, strict=True):
        degrees = " ".join(f"{math.degrees(interval):.4g}" for interval in intervals)
        rows.append((f"bank {' '.join(map(str, bank))} fires every", f"{degrees} deg"))
    return rows


def _events(derived: Derived, units: str) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    from enginesim.valvetrain import card

    cam = derived.case.cam
    heads = ("at", "intake", "exhaust", "IO BTDC", "IC ABDC", "EO BBDC", "EC ATDC", "overlap")
    intake, exhaust = (
        {round(height, 7): duration for height, duration in lobe.durations}
        for lobe in (cam.intake, cam.exhaust)
    )
    rows = []
    for height in sorted({*intake, *exhaust}):
        d_in, d_ex = intake.get(height), exhaust.get(height)
        e = card.events(d_in or 0.0, d_ex or 0.0, cam.lobe_separation, cam.intake_centreline)
        angles = [d_in, d_ex]
        angles += [e.io, e.ic] if d_in else [None, None]
        angles += [e.eo, e.ec] if d_ex else [None, None]
        angles.append(e.overlap if d_in and d_ex else None)
        place = shown(height, "in" if units == "us" else "mm")
        rows.append((place, *("-" if a is None else f"{math.degrees(a):.1f}" for a in angles)))
    return heads, rows


def _card(derived: Derived) -> str:
    cam = derived.case.cam
    centre = math.degrees(cam.intake_centreline)
    separation = math.degrees(cam.lobe_separation)
    return (
        f"lobe separation {separation:.4g}, intake centreline {centre:.4g}, "
        f"advance {separation - centre:.3g}"
    )


def _ports(derived: Derived, text: Callable[[float, str], str]) -> list[tuple[str, str, str]]:
    head, cam = derived.case.head, derived.case.cam
    sides = (
        (head.intake, cam.intake, derived.intake),
        (head.exhaust, cam.exhaust, derived.exhaust),
    )

    def row(name: str, value: Callable[[Any, Any, PortAreas], str]) -> tuple[str, str, str]:
        intake, exhaust = (value(*side) for side in sides)
        return name, intake, exhaust

    return [
        row("valves", lambda p, *_: f"{p.n_valves} x {text(p.valve_diameter, 'length')}"),
        row("lift", lambda _, lobe, __: text(lobe.valve_lift, "length")),
        row("lift / diameter", lambda *side: f"{side[2].lift_ratio:.3f}"),
        row("curtain at full lift", lambda *side: text(side[2].curtain, "area")),
        row("throat inside the seat", lambda *side: text(side[2].throat, "area")),
        row("smallest port section", lambda *side: text(side[2].port_min, "area")),
        row("port opening", lambda *side: text(side[2].flange, "area")),
        row("effective area of the best flow", lambda *side: text(side[2].effective, "area")),
    ]


def _piston_speeds(derived: Derived, text: Callable[[float, str], str]) -> tuple[str, ...]:
    speeds = (text(derived.stroke_of_speed * rpm / 1000, "speed") for rpm in _SPEEDS)
    return ("speed", *speeds)


def _guide(derived: Derived, text: Callable[[float, str], str]) -> list[str]:
    return [
        f"{name}: {text(speed, 'speed')} at {1000 * speed / derived.stroke_of_speed:.0f} rpm"
        for name, speed in _SPEED_GUIDE.items()
    ]


def _show_assumed(derived: Derived, units: str, brief: bool) -> None:
    if brief:
        click.echo(f"\n{len(derived.assumed)} values assumed")
        return
    rows = [
        (item.path, item.value_si if units == "si" else item.value, item.band, item.source)
        for item in derived.assumed
    ]
    show_table(f"Assumed ({len(rows)})", ("field", "value", "1 sigma", "source"), rows)
