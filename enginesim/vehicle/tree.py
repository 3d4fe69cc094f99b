"""The vehicle file: every input of a run on the road, SI inside."""

from typing import Annotated

from enginesim.case.facts import Facts, Part
from enginesim.case.tree import Assumed


class Body(Part):
    """What has to be moved, and what holds it back."""

    mass: Annotated[
        float,
        Facts("Vehicle with driver and fuel", "mass", "lb", "kg", low="60 kg", high="60000 kg"),
    ]
    drag_area: Annotated[
        float,
        Facts(
            "Drag coefficient x frontal area",
            "area",
            "ft2",
            "m2",
            low="0 m2",
            high="12 m2",
            derived="**needed**, or drag_coefficient and frontal_area",
        ),
    ]
    drag_coefficient: Annotated[
        float | None, Facts("Drag coefficient on the frontal area", low="0.05", high="2")
    ] = None
    frontal_area: Annotated[
        float | None,
        Facts("Frontal area", "area", "ft2", "m2", low="0.2 m2", high="12 m2"),
    ] = None
    rolling_resistance: Annotated[
        float,
        Facts(
            "Rolling resistance over weight",
            low="0",
            high="0.1",
            default="0.013",
            source="radial car tyres on smooth road 0.010 to 0.015: common textbook range, from "
            "memory",
            band="0.002",
        ),
    ]
    rotating_mass: Annotated[
        float,
        Facts(
            "What wheels and shafts behind the gearbox add to the mass when it is accelerated, "
            "over the mass",
            low="0",
            high="0.3",
            default="0.04",
            source="T. D. Gillespie, Fundamentals of Vehicle Dynamics, 1992: mass factor "
            "1.04 + 0.0025 x (overall ratio)^2 (from memory)",
            band="0.01",
        ),
    ]


class Tyres(Part):
    """Driven wheels."""

    size: Annotated[
        str | None, Facts("Size as on the tyre's side: ``225/60 R15``; gives the diameter")
    ] = None
    diameter: Annotated[
        float,
        Facts(
            "Outside diameter of the driven tyres",
            "length",
            "in",
            "mm",
            low="200 mm",
            high="2500 mm",
            derived="**needed**, or the size",
        ),
    ]
    rolling_radius: Annotated[
        float,
        Facts(
            "Distance run in a turn, over 2 pi",
            "length",
            "in",
            "mm",
            low="90 mm",
            high="1250 mm",
            derived="0.97 x half the diameter",
            source="estimate: a tyre under load is flattened by 2 to 4 %",
            band="1 %",
        ),
    ]
    grip: Annotated[
        float,
        Facts(
            "Largest pull of the driven tyres over the weight on them",
            low="0.1",
            high="5",
            default="0.9",
            source="estimate: street tyres on dry road",
            band="0.1",
        ),
    ]


class Gearbox(Part):
    """Ratios, losses and how it is shifted."""

    gears: Annotated[
        tuple[float, ...],
        Facts("Ratios of the forward gears, first gear first", low="0.3", high="20"),
    ]
    axle: Annotated[float, Facts("Ratio of the driven axle", low="1", high="20")]
    efficiency: Annotated[
        float,
        Facts(
            "Power at the driven wheels over that of the engine",
            us="%",
            si="%",
            low="0.3",
            high="1",
            default="0.88",
            source="estimate: rear drive with a manual gearbox, losses of 10 to 15 %",
            band="0.02",
        ),
    ]
    shift_time: Annotated[
        float,
        Facts(
            "Time without pull at each change up",
            "time",
            "s",
            "s",
            low="0 s",
            high="5 s",
            default="0.4 s",
            source="estimate: a quick hand on a manual gearbox",
            band="0.1 s",
        ),
    ]
    shift_speed: Annotated[
        tuple[float, ...] | None,
        Facts(
            "Engine speeds of the changes up, one for all or one for each; left out, the best "
            "ones are found",
            "engine speed",
            "rpm",
            "rpm",
            low="500",
            high="25000",
        ),
    ] = None
    highest_speed: Annotated[
        float | None,
        Facts(
            "Engine speed that is never exceeded; left out, the end of the torque curve",
            "engine speed",
            "rpm",
            "rpm",
            low="500",
            high="25000",
        ),
    ] = None
    engine_inertia: Annotated[
        float,
        Facts(
            "Crank, flywheel and clutch about the crank's axis",
            "inertia",
            "kg*m2",
            "kg*m2",
            low="0 kg*m2",
            high="50 kg*m2",
            derived="0.0025 x mass x (rolling radius)^2",
            source="T. D. Gillespie, Fundamentals of Vehicle Dynamics, 1992: mass factor "
            "1.04 + 0.0025 x (overall ratio)^2 (from memory)",
            band="30 %",
        ),
    ]


class Launch(Part):
    """How it gets away from rest."""

    rpm: Annotated[
        float,
        Facts(
            "Engine speed held by the slipping clutch until the road has caught up",
            "engine speed",
            "rpm",
            "rpm",
            low="500",
            high="25000",
            default="3000",
            source="estimate",
            band="500",
        ),
    ]
    driven_share: Annotated[
        float,
        Facts(
            "Part of the weight on the driven wheels while it accelerates",
            us="%",
            si="%",
            low="0.1",
            high="1",
            default="0.60",
            source="estimate: rear drive, weight moved back by the launch",
            band="0.05",
        ),
    ]


class Road(Part):
    """Where and on which day."""

    air_density: Annotated[
        float,
        Facts(
            "Air that the vehicle meets",
            "density",
            "lb/ft3",
            "kg/m3",
            low="0 kg/m3",
            high="1.6 kg/m3",
            default="1.20 kg/m3",
            source="101.3 kPa, 20 degC, dry",
            band="0.03 kg/m3",
        ),
    ]
    grade: Annotated[
        float,
        Facts(
            "Rise over distance along the road",
            us="%",
            si="%",
            low="-0.3",
            high="0.3",
            default="0",
            source="level",
        ),
    ]


class Vehicle(Part):
    """
    One vehicle on one road; made by `enginesim.vehicle.load`.

    Lengths are in metre, masses in kilogram; engine speeds are in rev/min.
    """

    name: Annotated[str, Facts("Name of the vehicle", default="", source="none given")]
    notes: Annotated[
        str, Facts("Anything worth remembering", default="", source="none given", has_lines=True)
    ]
    body: Annotated[Body, Facts("Mass and resistance")]
    tyres: Annotated[Tyres, Facts("Driven wheels")]
    gearbox: Annotated[Gearbox, Facts("Ratios, losses and how it is shifted")]
    launch: Annotated[Launch, Facts("How it gets away from rest")]
    road: Annotated[Road, Facts("Where and on which day")]

    #: Every default that was used.
    assumed: tuple[Assumed, ...] = ()
