"""Compression: published and hand-worked ratios, and gauge figures of a workshop."""

from __future__ import annotations

import pytest

from enginesim.formulas.crank import trapped_ratio
from enginesim.workshop.compression import CRANKING_EXPONENT, compression, cranking_pressure
from tests.unit.case.engines import TEXT, changed

_PSI = 6894.757293168


def pieces(*given: str) -> tuple[str, ...]:
    return ("block.stroke=3.48 in", "block.rod_length=5.7 in", *given)


def test_ratio_from_pieces() -> None:
    """4.000 x 3.48 in, deck 0.050, gasket 0.020 (bore 4.000), piston 5 cc, chamber 70 cc: 9.01
    (circle-track magazine of 2004; recomputed 9.0146).
    """
    from enginesim.case import loads

    text = TEXT.replace("compression_ratio = 9.5", 'chamber_volume = "70 cc"')
    case = loads(
        text,
        pieces(
            "block.deck_clearance=0.050 in",
            "block.gasket_thickness=0.020 in",
            "block.gasket_bore=4.000 in",
            "block.dish_volume=5 cc",
        ),
    )
    sheet = compression(case)
    assert sheet.ratio == pytest.approx(9.0146, abs=5e-5)
    assert sheet.quench == pytest.approx(0.070 * 0.0254)
    assert sum(sheet.pieces.values()) == pytest.approx(sheet.clearance)


@pytest.mark.parametrize("closes, ratio", [(50, 8.89), (60, 8.36), (66, 7.99), (70, 7.73)])
def test_trapped_ratio_of_the_10_1_engine(closes: int, ratio: float) -> None:
    """Ratio 10.102, stroke 3.48 in, rod 5.7 in; recomputed from geometry, two decimals."""
    import math

    found = trapped_ratio(10.102, math.radians(closes), 3.48, 5.7)
    assert found == pytest.approx(ratio, abs=0.006)


def test_trapped_ratio_of_a_case() -> None:
    """Ratio 10, 268 degrees at 0.006 in, centreline 106: closes 60 ABDC, 8.2745 by geometry."""
    case = changed(
        *pieces("block.compression_ratio=10", "cam.intake_centreline=106"),
        "cam.intake.durations=268 @ 0.006 in, 222 @ 0.050 in",
    )
    seat, usual = compression(case).trapped
    assert seat.ratio == pytest.approx(8.2745, abs=5e-5)
    assert usual.ratio > seat.ratio


@pytest.mark.parametrize("ratio, low, high", [(7.446, 155, 160), (6.785, 135, 140)])
def test_gauge_of_a_workshop(ratio: float, low: float, high: float) -> None:
    """A published specification page of one 1.8 L engine with two pistons: 155-160 and 135-140
    psi; trapped ratios from its bore, stroke, rod and intake closing.
    """
    assert low - 1 <= cranking_pressure(ratio, 14.7) <= high + 2


def test_another_published_exponent() -> None:
    """Ratio 7.5 with 1.3: 13.7 bar absolute, 187 psi on the gauge (encyclopedia example)."""
    assert cranking_pressure(7.5, 1.01325, 1.3) + 1.01325 == pytest.approx(13.9, abs=0.3)
    assert pytest.approx(cranking_pressure(7.5, 101325, 1.3) / _PSI, abs=3) == 187


def test_gauge_falls_with_the_barometer() -> None:
    low, high = (compression(changed(f"air.pressure={p} kPa")).cranking for p in (80, 100))
    assert low / high == pytest.approx(0.8)


def test_what_would_move_the_ratio() -> None:
    """1 cc less of 84.8 cc: 1 + 720.7/83.8 against 9.5 (4.00 x 3.50 in sweep 720.74 cc)."""
    changes = compression(changed()).changes
    clearance = 720.7417 / 8.5
    wanted = 720.7417 / (clearance - 1) - 8.5
    assert changes["chamber or dish 1 cc smaller"] == pytest.approx(wanted, rel=1e-4)
    # The trade says a gasket 0.020 in thinner is about +0.25 to +0.5; half of it here.
    assert 0.15 < changes["gasket 0.010 in thinner"] < 0.30


def test_the_exponent_is_between_hot_and_adiabatic() -> None:
    assert 1.2 < CRANKING_EXPONENT < 1.3
