"""What is burned and how: air, fuel, mixture, spark and combustion."""

from bisect import bisect_right
from collections.abc import Sequence
from typing import Annotated, Literal

from enginesim.case.facts import Facts, Part

_TEXTBOOK = "textbook range for full load at mid speed (J. B. Heywood 1988, from memory)"


def interpolated(at: float, places: Sequence[float], values: Sequence[float]) -> float:
    """
    Straight lines between the points of a schedule, level beyond its ends.

    Parameters
    ----------
    at : float
        Where the value is wanted. [-]
    places, values : sequence of float, shape (n,)
        The schedule; the places ascend. [-]

    Returns
    -------
    float
        Value there. [-]

    Examples
    --------
    >>> interpolated(2500.0, [2000.0, 3000.0], [1.0, 2.0])
    1.5000
    """
    i = bisect_right(places, at)
    if i == 0 or i == len(places):
        return values[max(i - 1, 0)]
    part = (at - places[i - 1]) / (places[i] - places[i - 1])
    return values[i - 1] + part * (values[i] - values[i - 1])


class Air(Part):
    """Air that the engine draws."""

    pressure: Annotated[
        float,
        Facts(
            "Barometer at the engine (not reduced to sea level), vapour included",
            "pressure",
            "inHg",
            "kPa",
            low="50 kPa",
            high="110 kPa",
            default="99 kPa",
            source="SAE J1349",
        ),
    ]
    temperature: Annotated[
        float,
        Facts(
            "Air at the inlet",
            "temperature",
            "degF",
            "degC",
            low="-40 degC",
            high="60 degC",
            default="25 degC",
            source="SAE J1349",
        ),
    ]
    humidity: Annotated[
        float,
        Facts(
            "Relative humidity",
            us="%",
            si="%",
            low="0",
            high="1",
            default="0",
            source="SAE J1349 (dry)",
        ),
    ]


class Fuel(Part):
    """Fuel and where it goes in."""

    name: Annotated[
        Literal[
            "gasoline 87",
            "gasoline 91",
            "gasoline 95",
            "gasoline 100",
            "e10",
            "e85",
            "ethanol",
            "methanol",
            "propane",
            "iso-octane",
        ],
        Facts("Fuel; gasolines by pump octane", default="gasoline 91", source="convention"),
    ]
    delivery: Annotated[
        Literal["carburettor", "port", "direct"],
        Facts(
            "Where the fuel enters",
            derived="carburettor if there is one, port otherwise",
            source="what the throttle implies",
        ),
    ]
    evaporated_fraction: Annotated[
        float,
        Facts(
            "Part of the fuel that evaporates in the intake, taking its heat from the air",
            low="0",
            high="1",
            derived="carburettor 0.6, port 0.3; alcohols half of that; direct 0; propane 1",
            source="estimate: no firm source",
            band="0.15",
        ),
    ]
    wall_heat_share: Annotated[
        float,
        Facts(
            "Part of the heat of fuel evaporating in the cylinder that walls and valves give",
            low="0",
            high="1",
            derived="carburettor and port 0.75, direct 0.2",
            source="estimate: alcohols gain 3-10 % at full load, direct injection 2-5 %",
            band="0.15",
        ),
    ]
    temperature: Annotated[
        float,
        Facts(
            "Liquid fuel",
            "temperature",
            "degF",
            "degC",
            low="-40 degC",
            high="90 degC",
            derived="air temperature + 5 K",
            source="estimate",
            band="8 K",
        ),
    ]
    octane_research: Annotated[
        float | None, Facts("Research octane, in place of the fuel's own", low="60", high="130")
    ] = None
    octane_motor: Annotated[
        float | None, Facts("Motor octane, in place of the fuel's own", low="60", high="130")
    ] = None


class Mixture(Part):
    """Air-fuel schedule."""

    rpm: Annotated[
        tuple[float, ...],
        Facts(
            "Speeds of the schedule, ascending",
            "engine speed",
            "rpm",
            "rpm",
            low="100",
            high="25000",
            derived="one value for all speeds",
            source="convention",
        ),
    ]
    lambda_: Annotated[
        tuple[float, ...],
        Facts(
            "Relative air-fuel ratio at those speeds",
            low="0.6",
            high="1.6",
            derived="air-fuel ratio 12.8 on a gasoline of 14.6 (0.877) or the given afr",
            source="usual full-load aim for street and strip",
            band="0.02",
            key="lambda",
        ),
    ]
    afr: Annotated[
        tuple[float, ...] | None,
        Facts("Air-fuel ratio by mass at those speeds, in place of lambda", low="3", high="30"),
    ] = None

    def at(self, rpm: float) -> float:
        """
        Relative air-fuel ratio at a speed.

        Parameters
        ----------
        rpm : float
            Engine speed. [rpm]

        Returns
        -------
        float
            Lambda, level beyond the ends of the schedule. [-]
        """
        return interpolated(rpm, self.rpm, self.lambda_)


class Spark(Part):
    """Ignition timing."""

    mode: Annotated[
        Literal["best", "schedule", "knock limited"],
        Facts(
            "Best torque, a given schedule, or best torque no further than the knock limit",
            derived="schedule if one is given, knock limited otherwise",
            source="convention",
        ),
    ]
    rpm: Annotated[
        tuple[float, ...],
        Facts(
            "Speeds of the schedule, ascending",
            "engine speed",
            "rpm",
            "rpm",
            low="100",
            high="25000",
            derived="one value for all speeds",
            source="convention",
        ),
    ]
    advance: Annotated[
        tuple[float, ...],
        Facts(
            "Spark before top dead centre at those speeds",
            "angle",
            "deg",
            "deg",
            low="-30 deg",
            high="70 deg",
            derived="32 deg, from which the search begins; a schedule must be given",
            source="workshop totals of 30-36 deg",
            band="2 deg",
        ),
    ]

    def at(self, rpm: float) -> float:
        """
        Scheduled advance at a speed.

        Parameters
        ----------
        rpm : float
            Engine speed. [rpm]

        Returns
        -------
        float
            Advance before top dead centre, level beyond the ends of the schedule. [rad]
        """
        return interpolated(rpm, self.rpm, self.advance)


class Combustion(Part):
    """Shape and pace of the burn around a base point."""

    flame_development: Annotated[
        float,
        Facts(
            "Spark to 10 % burned at the base speed",
            "angle",
            "deg",
            "deg",
            low="3 deg",
            high="90 deg",
            default="22 deg",
            source=_TEXTBOOK,
            band="3 deg",
        ),
    ]
    burn_duration: Annotated[
        float,
        Facts(
            "10 % to 90 % burned at the base speed",
            "angle",
            "deg",
            "deg",
            low="5 deg",
            high="120 deg",
            default="25 deg",
            source=_TEXTBOOK,
            band="3 deg",
        ),
    ]
    base_rpm: Annotated[
        float,
        Facts(
            "Speed at which those two hold",
            "engine speed",
            "rpm",
            "rpm",
            low="200",
            high="20000",
            default="3000 rpm",
            source="convention",
        ),
    ]
    speed_exponent: Annotated[
        float,
        Facts(
            "Both durations grow as (speed / base) to this power",
            low="0",
            high="1",
            default="0.3",
            source="estimate: turbulence keeps pace with most of the speed",
            band="0.1",
        ),
    ]
    flame_speed_exponent: Annotated[
        float,
        Facts(
            "Both durations fall as the laminar burning velocity over its base to this power",
            low="0",
            high="1.5",
            default="0.5",
            source="estimate: turbulent burning-velocity relations have 0.3 to 0.7",
            band="0.15",
        ),
    ]
    efficiency: Annotated[
        float,
        Facts(
            "Part of the heat that the mixture can release and the flame that passes it does",
            low="0.5",
            high="1",
            default="0.97",
            source="textbook range 0.95-0.98 for lambda of 1 and more (from memory)",
            band="0.01",
        ),
    ]
    wiebe_a: Annotated[
        float,
        Facts(
            "Efficiency parameter of the Wiebe law (5: 99.3 % burned at its end)",
            low="2",
            high="10",
            default="5",
            source="common practice (J. B. Heywood 1988, from memory)",
        ),
    ]
    wiebe_m: Annotated[
        float,
        Facts(
            "Form parameter of the Wiebe law",
            low="0.2",
            high="6",
            default="2",
            source="common practice (J. B. Heywood 1988, from memory)",
        ),
    ]
