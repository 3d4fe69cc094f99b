"""Values with a band: which there are, how each is moved, and where its distribution ends."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest

from enginesim.base.errors import CaseError
from enginesim.case import Case, load, loads
from enginesim.cycle.curves import tables_of
from enginesim.network.engine import build
from enginesim.network.flow_area import sheet_areas
from enginesim.study.bands import BandedValue, banded_values, extent, moved, quantiles
from tests.records import case
from tests.unit.case.engines import TEXT, changed
from tests.unit.study.studies import SINGLE

DEG, INCH, CFM = math.pi / 180, 0.0254, 0.0254**3 * 1728 / 60


def banded(engine: Case) -> dict[str, BandedValue]:
    return {one.name: one for one in banded_values(engine)}


def test_typed_and_assumed_bands_are_found() -> None:
    found = banded(case(block__bore="100 mm +- 0.1"))
    assert found["block.bore"].sigmas == pytest.approx((1e-4,))
    assert found["block.bore"].is_typed
    assert found["friction.multiplier"].sigmas == pytest.approx((0.12,))
    assert not found["friction.multiplier"].is_typed


@pytest.mark.parametrize(
    "override, path, sigmas",
    [
        ("cam.intake_centreline=107 +- 1", "cam.intake_centreline", (DEG,)),
        ("cam.intake_centreline=107 +- 60'", "", ()),
        ("cam.lobe_separation=110 +- 0.5", "cam.lobe_separation", (0.5 * DEG,)),
        ("cam.lobe_separation=110 +- 0.5 deg", "cam.lobe_separation", (0.5 * DEG,)),
        ("cam.lobe_separation=110 +- 1 %", "cam.lobe_separation", (1.1 * DEG,)),
        ("intake.runner_lengths=6 in +- 0.1", "intake.runner_lengths", (0.1 * INCH,) * 8),
        ("intake.runner_lengths=6 6 6 6 8 8 8 8 in +- 1 %", "intake.runner_lengths",
         (0.06 * INCH,) * 4 + (0.08 * INCH,) * 4),
        ("mixture.afr=12.8 +- 0.3", "mixture.afr", (0.3,)),
        ("head.intake.peak_flow=210 cfm +- 3 % @ 28 inH2O", "head.intake.peak_flow", (6.3 * CFM,)),
        ("cam.intake.durations=214 +- 1 @ 0.050 in", "cam.intake.durations", (0.0, DEG)),
        ("cam.intake.durations=214 +- 1 @ 0.050 in, 260 @ 0.006 in", "cam.intake.durations",
         (0.0, DEG)),
        ("intake.runner_stations=2 in +- 0.02 @ 0, 1.8 in @ 1", "intake.runner_stations",
         (0.02 * INCH, 0.0)),
        ("intake.runner_stations=2 in +- 0.02 @ 0", "intake.runner_stations", (0.02 * INCH,) * 2),
        ("throttle.flow=600 cfm @ 1.5 inHg +- 0.05", "throttle.drop", (0.05 * 3386.38864,)),
    ],
)  # fmt: skip
def test_a_typed_band_is_kept(override: str, path: str, sigmas: tuple[float, ...]) -> None:
    if not path:
        with pytest.raises(CaseError, match="a band in the unit of the value"):
            changed(override)
        return
    found = banded(changed(override))[path]
    assert found.is_typed
    assert found.sigmas == pytest.approx(sigmas, rel=1e-6)


def test_flow_sheet_with_a_band() -> None:
    lift, flow = "head.intake.sheet.lift=0.2 0.4 0.6 in", "head.intake.sheet.flow="
    cut = TEXT.replace('peak_flow = "210 cfm @ 28 inH2O"', "")
    engine = loads(cut, [lift, flow + "110 190 220 cfm +- 2 % @ 28 inH2O"])
    one = banded(engine)["head.intake.sheet.flow"]
    assert one.sigmas == pytest.approx([0.02 * f * CFM for f in (110, 190, 220)])
    # What is wrong with a bench is wrong at every lift, and the depression stays.
    more = moved(engine, one, 1.0)
    assert more.head.intake.sheet.flow == pytest.approx([1.02 * f for f in one.numbers], rel=1e-12)
    assert more.head.intake.sheet.depression == engine.head.intake.sheet.depression


def test_a_band_after_the_at_of_a_pair_is_refused() -> None:
    """It was accepted and lost."""
    with pytest.raises(CaseError, match="a band of the value before the @"):
        changed("cam.intake.durations=214 @ 0.050 in +- 0.002")
    with pytest.raises(CaseError, match="taken as exact"):
        changed("intake.runner_stations=2 in @ 0 +- 0.1")


def at(engine: Case, path: str) -> Any:
    here: Any = engine
    for key in path.split("."):
        here = getattr(here, key)
    return here


def test_moves_are_of_the_size_of_the_band() -> None:
    engine = changed(
        "cam.intake_centreline=107 +- 1",
        "intake.runner_lengths=6 in +- 0.1",
        "throttle.flow=600 cfm @ 1.6 inHg +- 0.05",
        "exhaust.muffler_back_pressure=2 psi +- 10 % @ 1500 lb/h",
    )
    for path in ("cam.intake_centreline", "throttle.drop", "exhaust.muffler_back_pressure"):
        one = banded(engine)[path]
        new = moved(engine, one, -1.0)
        assert at(new, path) == pytest.approx(one.numbers[0] - one.sigmas[0], rel=1e-12)
    # What was typed beside it stays.
    assert new.exhaust.muffler_flow == engine.exhaust.muffler_flow
    assert moved(engine, banded(engine)["throttle.drop"], 1.0).throttle.flow == engine.throttle.flow
    runners = moved(engine, banded(engine)["intake.runner_lengths"], 1.0).intake.runner_lengths
    assert runners == pytest.approx((6.1 * INCH,) * 8, rel=1e-12)


def test_a_card_has_two_bands() -> None:
    """The durations that were typed, and that at the seat, which nobody gave."""
    engine = changed("cam.intake.durations=214 +- 1 @ 0.050 in")
    found = banded(engine)
    (low, seat), (high, duration) = engine.cam.intake.durations
    card = moved(engine, found["cam.intake.durations"], 1.0).cam.intake.durations
    # The seat is 46 deg more than the duration at 0.050 in, and goes with it.
    assert card == (
        (low, pytest.approx(seat + DEG, rel=1e-12)),
        (high, pytest.approx(duration + DEG, rel=1e-12)),
    )
    alone = moved(engine, found["cam.intake.durations (at the seat)"], 1.0).cam.intake.durations
    assert alone == ((low, pytest.approx(seat + 6 * DEG, rel=1e-12)), (high, duration))


def test_where_a_search_begins_has_no_band() -> None:
    assert "spark.advance" not in banded(changed())
    assert "spark.advance" in banded(changed("spark.mode=schedule", "spark.advance=32 +- 2"))


def test_limits() -> None:
    engine = case(cam__lifter="solid flat", cam__intake__lash="0.05 mm +- 0.1")
    lash = banded(engine)["cam.intake.lash"]
    assert extent(engine, lash) == (pytest.approx(-0.5, rel=1e-9), math.inf)  # no less than none
    # The smallest section must pass the flow: the limit lies where the case is refused.
    area = banded(engine)["head.intake.port_area_min"]
    low, _ = extent(engine, area) or (0.0, 0.0)
    assert -3.0 < low < 0.0
    moved(engine, area, low)
    with pytest.raises(CaseError, match="smallest section"):
        moved(engine, area, low - 0.01)


def test_a_default_that_could_not_be_given() -> None:
    """A merge of 3 cc of a tiny engine's pipes, where the least that may be given is 5 cc."""
    engine = case(exhaust__collector_diameter="16 mm", exhaust__primary_diameter="16 mm")
    one = banded(engine)["exhaust.merge_volume"]
    assert one.numbers[0] < 5e-6
    low, high = extent(engine, one) or (0.0, 0.0)
    assert one.numbers[0] + low * one.sigmas[0] == pytest.approx(5e-6)
    for z in quantiles(low, high):
        moved(engine, one, z)


def test_quantiles_of_a_truncated_normal() -> None:
    """Against a million draws, of which those beyond the limits are thrown away."""
    generator = random.Random(3)
    drawn = sorted(z for z in (generator.gauss() for _ in range(400_000)) if -0.5 <= z <= 2.0)
    low, high = quantiles(-0.5, 2.0)
    # The error of a quantile of 300,000 draws is 0.003.
    assert low == pytest.approx(drawn[int(0.158655 * len(drawn))], abs=0.01)
    assert high == pytest.approx(drawn[int(0.841345 * len(drawn))], abs=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["single", "lake-boat-v8"])
def test_no_value_moved_is_an_impossible_engine(name: str) -> None:
    """Each of them, both ways, is laid out as ducts and volumes: none is refused."""
    engine = load(SINGLE if name == "single" else f"example:{name}")
    tables = tables_of(engine, 3000.0)
    n = 0
    for one in banded_values(engine):
        ends = extent(engine, one)
        assert ends is not None
        for z in quantiles(*ends):
            build(moved(engine, one, z), tables, 3000.0)
            n += 1
    assert n > 70


def test_rockers_of_a_measured_lift_are_in_the_measurement() -> None:
    """The lift was read at the valve: a ratio of nominally 1.5 moves nothing of it."""
    assert "cam.intake.rocker_ratio" in banded(changed())
    angles = " ".join(str(a) for a in range(-130, 140, 10))
    lifts = " ".join(f"{0.45 * max(0.0, 1 - (a / 120) ** 2):.4f}" for a in range(-130, 140, 10))
    text = TEXT.replace('durations = "214 @ 0.050 in"\nvalve_lift = "0.450 in"', "")
    engine = loads(f'{text}[cam.intake.lift_table]\nangle = "{angles}"\nlift = "{lifts} in"\n')
    assert "cam.intake.rocker_ratio" not in banded(engine)
    assert "cam.exhaust.rocker_ratio" in banded(engine)


def test_a_port_that_gave_way_to_its_flow_can_be_moved() -> None:
    """
    180 cc at 250 cfm: the smallest section is as small as the flow lets it. No move of any value
    is refused by the run, which has the bench of the check; where one stops, a limit was found.
    """
    engine = changed("head.intake.port_volume=180 cc", "head.intake.peak_flow=250 cfm +- 5")
    values = [one for one in banded_values(engine) if one.path.startswith("head.intake")]
    assert len(values) > 3
    for one in values:
        ends = extent(engine, one)
        assert ends is not None, one.name
        for z in (max(-1.0, ends[0]), min(1.0, ends[1])):
            sheet_areas(moved(engine, one, z).head.intake, "intake")
