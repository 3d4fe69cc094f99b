"""Five burns of a perfect gas against the integrated equation of the textbook's example."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from matplotlib.figure import Figure

from enginesim.kernels import cylinder_layout as at
from enginesim.kernels.closed import TRACE_ANGLE, TRACE_P
from tests.cylinders import DEG, SWEPT, charge, engine, filled, marched, perfect_gas, set_burn
from tests.exact import heat_release
from validation.drawing import COLOURS, GREY, MARKS, label, legend, panels
from validation.folder import Folder, Found, Samples
from validation.judgement import Row

HEAT = 20.0  # over p1 V1
BURNS = ((-20.0, 40.0), (0.0, 40.0), (-35.0, 60.0), (-10.0, 40.0), (-10.0, 10.0))
BOOK = BURNS[:2]


class Answer(NamedTuple):
    """Peak over p1, its angle [deg], work over p1 V1, and the pressures over p1."""

    peak: float
    angle: float
    work: float
    trace: Samples


def tasks(fast: bool) -> list[tuple[float, float]]:
    """Begin and length of the burn in degrees."""
    return list(BOOK if fast else BURNS)


def work(task: tuple[float, float]) -> Answer:
    start, length = task
    mixture = charge(perfect_gas(1.4), 0.0)
    gas = perfect_gas(1.4, release=HEAT * 287.0 * 360.0 / mixture["y_f"])
    par = engine(rod=1e3, ivc=-np.pi, evo=np.pi)
    set_burn(par, start * DEG, length * DEG)
    row, trace = marched(filled(par, gas, **mixture), par, gas, n_step=360)
    return Answer(
        float(row[at.C_PEAK]) / 1e5,
        float(row[at.C_PEAK_ANGLE]) / DEG,
        float(row[at.C_WORK]) / (1e5 * SWEPT / 0.9),
        trace[:, [TRACE_ANGLE, TRACE_P]] / [DEG, 1e5],
    )


def rows(folder: Folder, found: Found) -> list[Row]:
    """The two printed examples, then the other burns."""
    columns = folder.data()
    keys = list(zip(columns["start"].tolist(), columns["length"].tolist(), strict=True))
    answer = []
    for measure, name, burns in (
        ("peak", "peak", BOOK),
        ("angle", "angle", BOOK),
        ("work", "work", BOOK),
        ("other_peak", "peak", BURNS[2:]),
        ("other_work", "work", BURNS[2:]),
    ):
        ran = [burn for burn in burns if burn in found]
        if ran:
            places = [f"{length:g} deg from {start:g}" for start, length in ran]
            expected = [float(columns[name][keys.index(burn)]) for burn in ran]
            values = [getattr(found[burn], name) for burn in ran]
            answer.append(folder.points(measure, places, values, expected))
    return answer


def figure(folder: Folder, found: Found) -> Figure:
    """Pressures, and the exact peaks on them."""
    drawn, (axes,) = panels(1, 1, title=folder.title, height=4.0)
    volume, slope = heat_release.simple_volume(10.0)
    for k, burn in enumerate(BURNS):
        start, length = burn
        trace = found[burn].trace
        text = f"{length:g} deg from {start:g}"
        axes.plot(trace[:, 0], trace[:, 1], color=COLOURS[k], lw=1.3, label=text)
        exact = heat_release.cycle(
            volume, slope, gamma=1.4, heat=HEAT, start=start * DEG, length=length * DEG
        )
        axes.plot(exact.peak_angle / DEG, exact.peak, MARKS[k], color=GREY, ms=6, mfc="none")
    axes.plot([], [], "o", color=GREY, mfc="none", label="exact peak")
    axes.set_xlim(-60, 100)
    label(axes, "crank angle [deg]", "pressure over that at the start")
    legend(axes)
    return drawn
