"""Springs and moving masses of the valves, and the room between valves and pistons.

No result of a simulation depends on these; they are for the sheets of the workshop.
"""

from typing import Annotated, Literal

from enginesim.case.facts import Facts, Part

_ESTIMATE = "estimate: proportions of usual steel parts"


class ValveSpring(Part):
    """Springs of one valve, inner and outer together, and what they have to move."""

    seat_load: Annotated[
        float | None,
        Facts(
            "Load with the valve shut; after ``@`` the installed height",
            "force",
            "lbf",
            "N",
            low="5 lbf",
            high="1000 lbf",
            at="installed_height",
        ),
    ] = None
    installed_height: Annotated[
        float | None,
        Facts("Height with the valve shut", "length", "in", "mm", low="10 mm", high="120 mm"),
    ] = None
    open_load: Annotated[
        float | None,
        Facts(
            "Load compressed; after ``@`` the height, without it the load is that at full lift",
            "force",
            "lbf",
            "N",
            low="10 lbf",
            high="2500 lbf",
            at="open_height",
        ),
    ] = None
    open_height: Annotated[
        float | None,
        Facts("Height of the open load", "length", "in", "mm", low="5 mm", high="120 mm"),
    ] = None
    rate: Annotated[
        float | None,
        Facts(
            "Load for each travel",
            "spring rate",
            "lbf/in",
            "N/mm",
            low="20 lbf/in",
            high="3000 lbf/in",
            derived="from the two loads and heights",
        ),
    ] = None
    bind_height: Annotated[
        float | None,
        Facts("Height at which the coils touch", "length", "in", "mm", low="5 mm", high="110 mm"),
    ] = None
    valve_mass: Annotated[
        float,
        Facts(
            "One valve",
            "mass",
            "g",
            "g",
            low="2 g",
            high="2000 g",
            derived="steel: a stem as long as 2.4 x, a head as thick as 0.07 x the intake valve's "
            "diameter",
            source=_ESTIMATE,
            band="20 %",
        ),
    ]
    retainer_mass: Annotated[
        float,
        Facts(
            "Retainer and locks of one valve",
            "mass",
            "g",
            "g",
            low="1 g",
            high="500 g",
            derived="0.30 x valve",
            source=_ESTIMATE,
            band="25 %",
        ),
    ]
    spring_mass: Annotated[
        float,
        Facts(
            "Springs of one valve; a third of it moves",
            "mass",
            "g",
            "g",
            low="1 g",
            high="2000 g",
            derived="0.9 x valve",
            source=_ESTIMATE,
            band="25 %",
        ),
    ]


class ValveGear(Part):
    """What follows the cam, and what presses it there."""

    lifter_mass: Annotated[
        float,
        Facts(
            "One lifter, bucket or finger (of a finger, what counts at the valve)",
            "mass",
            "g",
            "g",
            low="1 g",
            high="1000 g",
            derived="x intake valve: hydraulic flat 0.95, solid flat 0.8, hydraulic roller 1.25, "
            "solid roller 1.3, bucket 1.0, finger 0.5",
            source=_ESTIMATE,
            band="20 %",
        ),
    ]
    push_rod_mass: Annotated[
        float,
        Facts(
            "One push rod",
            "mass",
            "g",
            "g",
            low="0 g",
            high="1000 g",
            derived="0.5 x intake valve with ohv, 0 without",
            source=_ESTIMATE,
            band="25 %",
        ),
    ]
    rocker_mass: Annotated[
        float,
        Facts(
            "What a rocker adds at the valve: inertia over the square of the arm",
            "mass",
            "g",
            "g",
            low="0 g",
            high="500 g",
            derived="0.35 x intake valve with ohv, 0 without",
            source=_ESTIMATE,
            band="30 %",
        ),
    ]
    intake: Annotated[ValveSpring, Facts("Spring and masses of one intake valve")]
    exhaust: Annotated[ValveSpring, Facts("Spring and masses of one exhaust valve")]


class Clearances(Part):
    """Room between valves and pistons, as measured on the engine."""

    intake_drop: Annotated[
        float | None,
        Facts(
            "How far the shut intake valve could be pushed down along its stem before it meets "
            "the piston at top dead centre",
            "length",
            "in",
            "mm",
            low="0 mm",
            high="40 mm",
        ),
    ] = None
    exhaust_drop: Annotated[
        float | None,
        Facts("The same of the exhaust valve", "length", "in", "mm", low="0 mm", high="40 mm"),
    ] = None
    intake_inclination: Annotated[
        float,
        Facts(
            "Intake valve stem from the axis of the bore",
            "angle",
            "deg",
            "deg",
            low="0 deg",
            high="60 deg",
            derived="15 deg, with two cams 20 deg",
            source="estimate: usual heads lie between 0 and 25 deg",
            band="5 deg",
        ),
    ]
    exhaust_inclination: Annotated[
        float,
        Facts(
            "Exhaust valve stem from the axis of the bore",
            "angle",
            "deg",
            "deg",
            low="0 deg",
            high="60 deg",
            derived="as the intake valve",
            source="estimate: usual heads lie between 0 and 25 deg",
            band="5 deg",
        ),
    ]
    rods: Annotated[
        Literal["steel", "aluminium"],
        Facts(
            "Material of the connecting rods; aluminium stretches and needs more room",
            derived="steel",
            source="common practice",
        ),
    ]
