"""The cam card against the published example with its misprint, and card arithmetic by hand."""

from __future__ import annotations

from math import degrees, radians

import pytest

from enginesim.base.errors import CaseError
from enginesim.case import load
from enginesim.workshop.cam_card import cam_card
from tests.unit.case.engines import MINIMAL, changed

_IN = 0.0254
# A public overlap page prints 268/280, separation 110, centreline 106 with EO 76: its own numbers
# give 74.
PUBLISHED = (
    "cam.intake.durations=268 @ 0.006 in, 214 @ 0.050 in",
    "cam.exhaust.durations=280 @ 0.006 in, 224 @ 0.050 in",
    "cam.intake_centreline=106",
    "cam.events.height=0.006 in",
    "cam.events.intake_opens=28",
    "cam.events.intake_closes=60",
    "cam.events.exhaust_opens=76",
    "cam.events.exhaust_closes=26",
)


def test_published_card_and_its_misprint() -> None:
    card = cam_card(load(MINIMAL, PUBLISHED, is_lenient=True))
    seat = card.rows[0].events
    found = [degrees(a) for a in (seat.io, seat.ic, seat.eo, seat.ec, seat.overlap)]
    assert found == pytest.approx([28, 60, 74, 26, 54], abs=1e-6)
    (wrong,) = card.contradictions
    assert wrong.name == "EO"
    assert degrees(wrong.printed) == pytest.approx(76)
    assert degrees(wrong.implied) == pytest.approx(74, abs=1e-6)
    # EO = De/2 + ECL - 180: two degrees more duration each side, or a centreline of 116.
    assert degrees(wrong.duration) == pytest.approx(284, abs=1e-6)
    assert degrees(wrong.centreline) == pytest.approx(116, abs=1e-6)


@pytest.mark.parametrize(
    "event, printed, duration, centreline",
    [
        ("intake_opens", 30, 272, 104),  # IO = Di/2 - ICL
        ("intake_closes", 62, 272, 108),  # IC = Di/2 + ICL - 180
        ("exhaust_closes", 28, 284, 112),  # EC = De/2 - ECL
    ],
)
def test_what_would_agree_with_a_print(
    event: str, printed: float, duration: float, centreline: float
) -> None:
    given = (*PUBLISHED, "cam.events.exhaust_opens=74", f"cam.events.{event}={printed}")
    (wrong,) = cam_card(load(MINIMAL, given, is_lenient=True)).contradictions
    assert degrees(wrong.duration) == pytest.approx(duration, abs=1e-6)
    assert degrees(wrong.centreline) == pytest.approx(centreline, abs=1e-6)


def test_a_strict_reader_still_refuses_it() -> None:
    with pytest.raises(CaseError, match="EO 76 printed, 74 implied"):
        load(MINIMAL, PUBLISHED)


def test_a_lenient_reader_warns_and_forgives_nothing_else() -> None:
    case = load(MINIMAL, PUBLISHED, is_lenient=True)
    assert any("EO 76 printed" in str(warning) for warning in case.warnings)
    with pytest.raises(CaseError, match="bore"):
        load(MINIMAL, (*PUBLISHED, "block.bore=40 in"), is_lenient=True)


def test_events_at_every_checking_height() -> None:
    """224/230, separation 110, centreline 106: 6, 38, 49, 1, overlap 7 (by hand)."""
    card = cam_card(
        changed(
            "cam.intake.durations=270 @ 0.006 in, 224 @ 0.050 in",
            "cam.exhaust.durations=276 @ 0.006 in, 230 @ 0.050 in",
        )
    )
    heights = [row.height / _IN for row in card.rows]
    assert heights == pytest.approx([0.006, 0.020, 0.050, 0.100, 0.200])
    assert [row.is_given for row in card.rows] == [True, False, True, False, False]
    usual = card.rows[2].events
    found = [degrees(a) for a in (usual.io, usual.ic, usual.eo, usual.ec, usual.overlap)]
    assert found == pytest.approx([6, 38, 49, 1, 7], abs=1e-4)
    durations = [row.events.duration_intake for row in card.rows]
    assert durations == sorted(durations, reverse=True)
    assert degrees(card.advance) == pytest.approx(4)
    assert degrees(card.exhaust_centreline) == pytest.approx(114)
    assert card.spread == pytest.approx((radians(46), radians(46)), abs=1e-6)


def test_overlap_does_not_care_for_advance() -> None:
    there, here = (cam_card(changed(f"cam.advance={a}")).rows for a in (0, 6))
    for one, other in zip(there, here, strict=True):
        assert degrees(one.events.overlap) == pytest.approx(degrees(other.events.overlap), abs=1e-6)
        assert degrees(other.events.io - one.events.io) == pytest.approx(6, abs=1e-6)


def test_lash_is_taken_from_the_valve() -> None:
    card = cam_card(changed("cam.lifter=solid flat", "cam.intake.lash=0.020 in"))
    assert card.net_lift[0] == pytest.approx((0.450 - 0.020) * _IN)


def test_a_metric_height_is_a_row_of_its_own() -> None:
    """1 mm is 0.0394 in, not 0.040."""
    card = cam_card(
        changed(
            "cam.intake.durations=262 @ 0.15 mm, 222 @ 1 mm",
            "cam.exhaust.durations=262 @ 0.15 mm, 222 @ 1 mm",
        )
    )
    (row,) = (row for row in card.rows if row.height == pytest.approx(1e-3))
    assert row.is_given
    # 0.15 mm is 0.0059 in, which is the usual 0.006 in for a reader.
    assert sum(row.height < 0.2e-3 for row in card.rows) == 1


def test_events_of_a_measured_lift() -> None:
    """A triangle from -100 to 100 degrees: half the lift lies between -50 and 50."""
    angle = " ".join(str(a) for a in range(-100, 101, 10))
    lift = " ".join(f"{10 - abs(a) / 10:g}" for a in range(-100, 101, 10))
    table = (f"cam.{side}.lift_table.{column}"
             for side in ("intake", "exhaust") for column in ("angle", "lift"))  # fmt: skip
    values = (f"{angle} deg", f"{lift} mm") * 2
    text = MINIMAL.read_text("utf-8")
    for line in ('durations = "214 @ 0.050 in"', 'durations = "220 @ 0.050 in"',
                 'valve_lift = "0.450 in"', 'valve_lift = "0.460 in"'):  # fmt: skip
        text = text.replace(line, "")
    from enginesim.case import loads

    given = [f"{path}={value}" for path, value in zip(table, values, strict=True)]
    card = cam_card(
        loads(text, (*given, "cam.intake.rocker_ratio=1", "cam.exhaust.rocker_ratio=1"))
    )
    row = next(row for row in card.rows if row.height == pytest.approx(0.200 * _IN))
    # 5.08 of 10 mm: half of it is 49.2 degrees from the centre.
    assert degrees(row.events.duration_intake) == pytest.approx(2 * 49.2, abs=0.2)
    assert card.net_lift[0] == pytest.approx(10e-3)
