"""A comparison as sentences, tables, files and pictures, on curves with known answers."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from dataclasses import replace
from math import pi
from typing import TYPE_CHECKING

import numpy as np
import pytest

from enginesim.base.provenance import stamp
from enginesim.performance import Curve, Performance
from enginesim.performance.attribution import CAUSES, GROUPS
from enginesim.report import comparison_file, comparison_notes, comparison_table, comparison_text
from enginesim.report.cause_names import FILLING, SHOWN
from enginesim.report.comparison_figure import comparison_figure
from enginesim.report.files import json_text
from enginesim.report.reason_figure import reason_figure
from enginesim.study.comparison import Comparison, Side, compare
from enginesim.study.reasons import Region, attributions, regions
from enginesim.study.swap import Entrant
from enginesim.study.usage import Weights, Window
from tests.records import case
from tests.unit.study.results import result

if TYPE_CHECKING:
    from enginesim.report.units import System

SPEEDS = tuple(float(rpm) for rpm in range(2000, 6001, 500))
LB_FT = 1.3558179483


def point(rpm: float, torque: float) -> Performance:
    """A result whose torque is what it should be, by more or less gross work."""
    base = result(rpm)
    net = torque * 4 * pi / base.displacement + base.fmep
    return replace(
        base, torque=torque, power=torque * rpm * pi / 30, imep_net=net,
        imep_gross=net + base.pmep, bmep=net - base.fmep,
    )  # fmt: skip


def curve(torque: Callable[[float], float]) -> Curve:
    return Curve(point(rpm, torque(rpm) * LB_FT) for rpm in SPEEDS)


def rising(rpm: float) -> float:
    """Loses 15 lb-ft at 2000 rpm, gains 25 at 6000: crosses at 3500."""
    return 300.0 + (rpm - 3500.0) / 100.0


def hollow(rpm: float) -> float:
    return 300.0 + ((rpm - 4000.0) / 500.0) ** 2 - 4.0


def made(b: Callable[[float], float] = rising, **options: object) -> Comparison:
    sides = [Side("A", "as it is", curve(lambda _: 300.0)), Side("B", "other", curve(b))]
    return compare(sides, **options)  # type: ignore[arg-type]


def test_verdict_of_a_crossing() -> None:
    first, second = comparison_text.verdicts(made(window=Window(3000.0, 6000.0)), 1, "us")
    assert first.startswith("B gives more torque than A above 3,500 rpm, less elsewhere; the curves"
                            " cross at 3,500 rpm")  # fmt: skip
    assert "3,000 to 6,000 rpm" in second
    assert "torque +10.0 lb-ft" in second


def test_verdict_of_two_crossings_and_of_none() -> None:
    text = comparison_text.verdicts(made(hollow), 1, "us")[0]
    assert text.startswith("B gives more torque than A below 3,000 and above 5,000 rpm")
    text = comparison_text.verdicts(made(lambda rpm: 620.0 - hollow(rpm)), 1, "us")[0]
    assert text.startswith("B gives more torque than A at all speeds")
    text = comparison_text.verdicts(made(lambda _: 290.0), 1, "us")[0]
    assert text == "B gives less torque than A at all speeds."
    text = comparison_text.verdicts(made(lambda _: 300.1), 1, "us")[0]
    assert text == "B and A do not differ by more than the numerical error at any speed."
    level = made(lambda rpm: 300.0 + (rpm - 4000.0) / 100.0)
    text = comparison_text.verdicts(level, 1, "us")[1]
    assert "B against A: no difference in torque, power +" in text


def test_verdict_with_weights() -> None:
    texts = comparison_text.verdicts(made(weights=Weights(((6000.0, 6000.0, 1.0),))), 1, "us")
    assert texts[2].startswith("Weighted with the time at each speed: torque +25.0 lb-ft")


def region(total: float, **parts: float) -> Region:
    shares = {cause: parts.get(cause, 0.0) * LB_FT for cause in CAUSES}
    return Region(5100.0, 6000.0, False, True, total * LB_FT, 0.5, (5800.0, 14 * LB_FT), shares)


def test_reason_as_a_mechanic_would_say_it() -> None:
    found = region(11.0, wave=9.0, entry=5.0, residual=-1.0, pumping=-2.0)
    (text,) = comparison_text.reasons(made(), 1, [found], "us")
    assert text == (
        "Above 5,100 rpm B gains 11.0 lb-ft on average (at most 14.0 at 5,800 rpm): filling +13.0"
        " (wave at closing +9.0, throttle and runner +5.0, residual gas -1.0), pumping -2.0."
    )


def test_loss_and_opposed_filling() -> None:
    found = region(-10.0, friction=-12.0, wave=2.0)
    (text,) = comparison_text.reasons(made(), 1, [found], "us")
    assert "B loses 10.0 lb-ft" in text
    assert text.endswith(": friction -12.0, filling +2.0 (wave at closing +2.0).")


def test_large_causes_that_cancel_are_named() -> None:
    found = region(3.0, wave=-4.0, way_heat=4.5, throttle=0.3, entry=0.6, backflow=-1.2, burn=2.8)
    (text,) = comparison_text.reasons(made(), 1, [found], "us")
    assert text.endswith(
        ": burning +2.8, filling +0.2 (large causes cancel: heating +4.5, wave at closing -4.0,"
        " backflow -1.2, throttle and runner +0.9)."
    ), text


def figures(text: str) -> tuple[float, list[tuple[str, float]], list[tuple[str, float]]]:
    """Total, causes and causes within filling, as a sentence says them."""
    head, _, tail = text.partition("): ")
    total = float(head.split(" lb-ft")[0].split()[-1])
    inner = re.search(r"filling [+-][0-9.]+ \((?:large causes cancel: )?([^)]*)\)", tail)
    outer = re.sub(r" \([^)]*\)", "", tail)
    pattern = r"([a-z ]+?) ([+-][0-9]+\.[0-9])"
    outside, within = (
        [(name.strip(), float(value)) for name, value in re.findall(pattern, part)]
        for part in (outer, inner.group(1) if inner else "")
    )
    return (total if " gains " in head else -total), outside, within


@pytest.mark.parametrize("seed", range(40))
def test_what_is_said_adds_up_and_nothing_large_is_left_out(seed: int) -> None:
    drawn = np.random.default_rng(seed).normal(0.0, 3.0, len(CAUSES))
    parts = dict(zip(CAUSES, drawn.tolist(), strict=True))
    found = region(sum(parts.values()), **parts)
    (text,) = comparison_text.reasons(made(), 1, [replace(found, error=0.0)], "us")
    total, outside, within = figures(text)
    assert sum(value for _, value in outside) == pytest.approx(total, abs=1e-9)
    said = dict(outside)
    for name, causes in GROUPS.items():
        if name in said:  # rounded up or down
            assert said[name] == pytest.approx(sum(parts[c] for c in causes), abs=0.1)
    if not within:
        return
    assert sum(value for _, value in within) == pytest.approx(said["filling"], abs=1e-9)
    inner = {name: value for name, value in within if name != "the rest"}
    smallest = min(map(abs, inner.values()))
    for name in FILLING:
        value = sum(parts[cause] for cause in SHOWN[name])
        if name in inner:
            assert inner[name] == pytest.approx(value, abs=0.2)
        else:
            assert abs(value) <= smallest + 0.2


def test_what_matters_to_the_total_is_named() -> None:
    found = region(-8.0, size=-12.0, friction=1.2, pumping=1.4, walls=1.4)
    (text,) = comparison_text.reasons(made(), 1, [found], "us")
    assert text.endswith("pumping +1.4, friction +1.2.")


def test_difference_within_the_error_has_no_reasons() -> None:
    found = replace(region(0.2, wave=0.2), error=1.0)
    (text,) = comparison_text.reasons(made(), 1, [found], "us")
    assert text.endswith("which is within the numerical error.")


def test_regions_end_at_the_crossovers_and_add_up() -> None:
    comparison = made()
    found = regions(comparison, 1, attributions(comparison, 1))
    assert [(round(r.low), round(r.high)) for r in found] == [(2000, 3500), (3500, 6000)]
    assert [r.total / LB_FT for r in found] == pytest.approx([-7.5, 12.5])
    assert found[0].largest == (2000.0, pytest.approx(-15 * LB_FT))
    for one in found:
        assert sum(one.parts.values()) == pytest.approx(one.total, abs=1e-9 * 300)
        assert one.group("burning") == pytest.approx(one.total)
    whole = regions(made(lambda _: 310.0), 1, attributions(made(lambda _: 310.0), 1))
    assert len(whole) == 1
    (text,) = comparison_text.reasons(made(), 1, whole, "us")
    assert text.startswith("From 2,000 to 6,000 rpm B gains 10.0 lb-ft")


def test_interplay() -> None:
    comparison = made()
    zeros = np.zeros(9).tolist()
    text = comparison_text.interplay(comparison, zeros, zeros, "us")
    assert text.startswith("Within the numerical error the parts do not act on each other")
    surplus = [0.0, 0.0, 4 * LB_FT, 0.0, 0.0, 0.0, 0.0, -6 * LB_FT, 0.0]
    text = comparison_text.interplay(comparison, surplus, [LB_FT] * 9, "us")
    assert "4.0 lb-ft more than the sum of each alone at 3,000 rpm" in text
    assert "6.0 lb-ft less than the sum of each alone at 5,500 rpm" in text


def test_tables() -> None:
    torque, power = comparison_table.by_speed(made(), "us")
    assert torque.labels == ("speed", "A", "B", "B - A", "+-")
    assert torque.rows[0] == ("2000", "300", "285", "-15.0", "0.6")
    assert torque.rows[3][3] == "0.0"  # crossing: no sign
    assert power.labels == ("speed", "A", "B", "B - A")
    summary = comparison_table.summary(made(), "us")
    rows = {row[0]: row[1:] for row in summary.rows}
    assert rows["peak torque"] == ("300 @ 2000", "325 @ 6000")
    assert rows["average torque 2000-6000 rpm"] == ("300.0", "305.0 (+5.0)")
    assert rows["largest gain of torque"] == ("-", "+25.0 @ 6000")
    assert rows["largest loss of torque"] == ("-", "-15.0 @ 2000")


def test_table_of_causes_adds_up() -> None:
    comparison = made()
    table = comparison_table.causes(attributions(comparison, 1), ("A", "B"), "us")
    for row in table.rows:
        shares = [float(text) for text in row[2:]]
        assert sum(shares) == pytest.approx(float(row[1]), abs=0.05 * len(shares))


def test_every_cause_is_shown_once() -> None:
    assert sorted(cause for names in SHOWN.values() for cause in names) == sorted(CAUSES)
    assert sorted(cause for name in FILLING for cause in SHOWN[name]) == sorted(GROUPS["filling"])


def test_sentence_table_and_chart_have_the_same_names() -> None:
    comparison = made()
    found = tuple(
        replace(one, parts=dict.fromkeys(CAUSES, one.total / len(CAUSES)))
        for one in attributions(comparison, 1)
    )
    table = comparison_table.causes(found, ("A", "B"), "us")
    heads = [f"{a} {b}".strip() for a, b in zip(table.labels, table.units, strict=True)]
    assert heads[2:] == list(SHOWN)
    figure = reason_figure(found, "Why", "below", [], "us")
    legend = {text.get_text() for text in figure.axes[0].get_legend().get_texts()}
    assert legend == {*SHOWN, "all together"}


def entrants(**changes: str) -> list[Entrant]:
    return [Entrant("A", "as it is", case()), Entrant("B", "other", case(**changes))]


def test_notes_say_the_correction() -> None:
    text = comparison_notes.correction(made(), entrants(), "none")
    assert text == "Not corrected; the factor to SAE J1349 would be 1.0000"
    sides = [Side("A", "", curve(rising), 1.04009), Side("B", "", curve(rising), 1.05)]
    text = comparison_notes.correction(compare(sides), entrants(), "J607")
    assert "SAE J607 (29.92 inHg dry, 60 °F), factor A 1.0401, B 1.0500" in text


def test_warnings_about_what_is_not_alike() -> None:
    assert comparison_notes.warnings(entrants(block__bore="101 mm"), "none") == ()
    assert "same engine" in comparison_notes.warnings(entrants(), "none")[0]
    texts = comparison_notes.warnings(
        entrants(air__temperature="50 degC", friction__model="quadratic",
                 numerics__cell_size="10 mm"), "none",
    )  # fmt: skip
    assert len(texts) == 3
    assert "different air" in texts[0]
    assert "friction" in texts[1]
    assert "meshes" in texts[2]
    (text,) = comparison_notes.warnings(entrants(air__temperature="50 degC"), "J1349")
    assert text.startswith("B: SAE J1349: inlet temperature 50.0 °C is outside")


def test_files() -> None:
    comparison = made(weights=Weights(((3000.0, 4000.0, 1.0),)))
    stamps = [stamp(e.case.digest) for e in entrants()]
    document = comparison_file.document(
        comparison, entrants(), [attributions(comparison, 1)], stamps, "none"
    )
    read = json.loads(json_text(document))
    b = read["sides"][1]
    assert b["difference_torque_Nm"][0] == pytest.approx(-15 * LB_FT)
    assert b["crossovers_rpm"][0]["rpm"] == pytest.approx(3500.0)
    shares = np.array(list(b["causes_torque_Nm"].values()))
    assert shares.sum(axis=0) == pytest.approx(b["difference_torque_Nm"], abs=1e-9 * 300)
    assert b["weighted_torque_Nm"] == pytest.approx(300 * LB_FT)
    rows = list(csv.DictReader(io.StringIO(comparison_file.csv_text(comparison))))
    assert float(rows[0]["B_less_A_torque_Nm"]) == pytest.approx(-15 * LB_FT)
    assert float(rows[8]["A_power_kW"]) == pytest.approx(300 * LB_FT * 200 * pi / 1e3)


def texts_of(figure: object) -> str:
    from matplotlib.text import Text

    return "\n".join(text.get_text() for text in figure.findobj(Text))  # type: ignore[attr-defined]


@pytest.mark.parametrize("system", ["us", "si"])
def test_charts(system: str) -> None:
    comparison = made(window=Window(3000.0, 5000.0))
    shown = texts_of(comparison_figure(comparison, "Title", ["note"], system))  # type: ignore[arg-type]
    for part in ("Title", "A: as it is", "note", "3,500", "B - A", "averages 3000-5000 rpm"):
        assert part in shown
    assert ("5252" in shown) == (system == "us")
    causes = attributions(comparison, 1)
    shown = texts_of(reason_figure(causes, "Why", "below", ["note"], system))  # type: ignore[arg-type]
    assert "burning" in shown
    assert "backflow" not in shown  # has no share


def small(rpm: float) -> float:
    return 30.0 + (rpm - 3500.0) / 1000.0


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("n", [2, 4, 6])
def test_figures_in_a_chart_hide_no_line(n: int, system: System) -> None:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.text import Text

    sides = [Side("ABCDEF"[i], "x", curve(lambda rpm, i=i: rising(rpm) - 5 * i)) for i in range(n)]
    figure = comparison_figure(compare(sides), "Title", ["note"], system)
    renderer = FigureCanvasAgg(figure).get_renderer()
    figure.draw(renderer)
    main = figure.axes[0]
    texts = [t for t in main.texts if type(t) is Text]
    # Two columns, of a head and every engine; for six there is no room.
    assert len(texts) == (2 * (1 + n) if n < 6 else 0)
    boxes = [text.get_window_extent(renderer) for text in texts]
    for line in main.lines:
        x, y = main.transData.transform(line.get_xydata()).T
        if len(x) == len(SPEEDS):  # a curve, no mark of a peak
            fine = np.linspace(x[0], x[-1], 500)
            for box in boxes:
                inside = (fine > box.x0) & (fine < box.x1)
                heights = np.interp(fine, x, y)[inside]
                assert not np.any((heights > box.y0) & (heights < box.y1))


def test_small_engines_have_a_decimal() -> None:
    sides = [Side("A", "as it is", curve(lambda _: 30.0)), Side("B", "other", curve(small))]
    comparison = compare(sides)
    assert comparison_table.by_speed(comparison, "us")[0].rows[0][:3] == ("2000", "30.0", "28.5")
    assert comparison_table.summary(comparison, "us").rows[0][1:] == ("30.0 @ 2000", "32.5 @ 6000")
    assert comparison_table.by_speed(made(), "us")[0].rows[0][:3] == ("2000", "300", "285")


def test_what_would_be_said_to_be_zero_is_not_said() -> None:
    found = replace(region(0.30, wave=0.11, valve=0.09, way_heat=-0.04, burn=0.14), error=0.1)
    (text,) = comparison_text.reasons(made(), 1, [found], "us")
    said = ": filling +0.2 (wave at closing +0.1, intake valve +0.1), burning +0.1."
    assert text.endswith(said)
    same = replace(region(0.01, wave=0.01), largest=(3000.0, 0.02))
    (text,) = comparison_text.reasons(made(), 1, [same], "us")
    assert text == "Above 5,100 rpm B gives what A gives, within 0.1 lb-ft."
