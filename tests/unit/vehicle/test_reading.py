"""Vehicle files: defaults with sources, and everything wrong at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from enginesim.base.errors import CaseError
from enginesim.base.readings import read
from enginesim.base.units import DIMENSIONS, unit
from enginesim.case.facts import Field, walk
from enginesim.case.quantities import bounds
from enginesim.case.values import convert
from enginesim.vehicle import Vehicle, load, loads
from enginesim.vehicle.manual import manual
from enginesim.vehicle.reading import RULES, tyre_diameter

FIELDS = [(path, spot) for path, spot in walk(Vehicle) if spot.part is None]
SOUND = """
[body]
mass = "3500 lb"
drag_area = "9.5 ft2"
[tyres]
size = "225/60 R15"
[gearbox]
gears = "2.64 1.75 1.34 1.00"
axle = 3.31
"""


def problems(text: str) -> str:
    with pytest.raises(CaseError) as caught:
        loads(text)
    return "\n".join(str(problem) for problem in caught.value.problems)


@pytest.mark.parametrize("path, spot", FIELDS, ids=[path for path, _ in FIELDS])
def test_facts(path: str, spot: Field) -> None:
    facts = spot.facts
    assert facts.help
    assert not facts.help.endswith(".")
    for shown in (facts.us, facts.si):
        if shown:
            assert unit(shown).exponents == DIMENSIONS[facts.dimension]
    low, high = bounds(facts)
    assert low < high
    if facts.default is not None:
        assert facts.source
        convert(spot, facts.default)
    if facts.derived:
        assert path in RULES
    if facts.band:
        assert read(facts.band).numbers[0] > 0


def test_tyre_size() -> None:
    """225 mm x 60 % = 135 mm, twice, on 15 in: 651.0 mm."""
    vehicle = loads(SOUND)
    assert vehicle.tyres.diameter == pytest.approx(0.651)
    assert vehicle.tyres.rolling_radius == pytest.approx(0.97 * 0.3255)
    assert tyre_diameter("P225/60R15") == tyre_diameter("225/60 ZR 15") == pytest.approx(0.651)
    assert tyre_diameter("large") is None


def test_defaults_are_listed_with_sources() -> None:
    vehicle = loads(SOUND)
    assumed = {item.path: item for item in vehicle.assumed}
    assert "gearbox.efficiency" in assumed
    assert all(item.source for item in vehicle.assumed)
    assert "tyres.diameter" not in assumed
    # 3500 lb = 1587.6 kg on a radius of 0.3157 m
    assert vehicle.gearbox.engine_inertia == pytest.approx(
        0.0025 * 1587.573 * 0.315735**2, rel=1e-5
    )


def test_drag_area_from_coefficient_and_frontal_area() -> None:
    text = SOUND.replace('drag_area = "9.5 ft2"',
                         'drag_coefficient = 0.4\nfrontal_area = "2 m2"')  # fmt: skip
    assert loads(text).body.drag_area == pytest.approx(0.8)


def test_everything_wrong_is_said_at_once_with_its_line() -> None:
    text = problems(
        '[body]\nmass = 3500\n[tyres]\nsize = "fifteen"\n[gearbox]\ngears = [1.0, 1.5]\naxl = 3.3\n'
    )
    for words in (
        "vehicle:2: body.mass: found 3500 without a unit",
        "body.drag_area: found nothing",
        "tyres.size: found 'fifteen'; allowed width in mm",
        "gearbox.gears: found 1 in gear 1 and 1.5 in gear 2",
        "gearbox.axl: found an unknown key; allowed a field of the vehicle (did you mean axle?)",
        "gearbox.axle: found nothing",
    ):
        assert words in text


@pytest.mark.parametrize(
    "old, new, words",
    [
        ('mass = "3500 lb"', 'mass = "3500 ft"', "a length; allowed a mass"),
        ('mass = "3500 lb"', 'mass = "35 lb"', "60 kg to 60000 kg"),
        ("axle = 3.31", "axle = 33.1", "did you mean 3.31"),
        ("axle = 3.31", "axle = 3.31\nefficiency = 1.2", "0.3 to 1"),
        ("axle = 3.31", "axle = 3.31\nshift_speed = [5000, 5500]", "one for all, or one for each"),
        ("axle = 3.31", "axle = 3.31\nshift_speed = 6500\nhighest_speed = 6000", "up to highest"),
        ('size = "225/60 R15"', 'size = "225/60 R15"\ndiameter = "28 in"', "within 3 %"),
        ('drag_area = "9.5 ft2"', 'drag_coefficient = 0.4', "frontal_area: found nothing"),
        ("[gearbox]", "[gear_box]", "did you mean gearbox?"),
    ],
)  # fmt: skip
def test_malformed(old: str, new: str, words: str) -> None:
    assert words in problems(SOUND.replace(old, new))


def test_broken_and_missing_files(tmp_path: Path) -> None:
    assert "broken TOML" in problems("[body\n")
    assert "fields of the vehicle" in problems("")
    with pytest.raises(CaseError, match="no file"):
        load(tmp_path / "none.toml")


def test_overrides() -> None:
    vehicle = load("cases/vehicles/estate.toml", ["gearbox.axle=3.9", "body.mass=1500 kg"])
    assert vehicle.gearbox.axle == 3.9
    assert vehicle.body.mass == 1500.0


def test_the_page_of_fields_is_current() -> None:
    page = Path(__file__).parents[3] / "docs" / "vehicle-file.md"
    assert page.read_text("utf-8") == manual(), "run `python -m enginesim.vehicle.manual docs`"
