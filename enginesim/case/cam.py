"""The cam: what stands on its card, or a measured lift table."""

from typing import Annotated, Final, Literal

from enginesim.case.facts import Facts, Part

#: Lifters that stand on the valve or between it and a cam above it, and move no push rod.
OVERHEAD: Final = ("bucket", "finger")


class LiftTable(Part):
    """Measured valve lift against crank angle."""

    angle: Annotated[
        tuple[float, ...],
        Facts(
            "Crank angle from the lobe centre, negative before it, ascending",
            "angle",
            "deg",
            "deg",
            low="-360 deg",
            high="360 deg",
        ),
    ]
    lift: Annotated[
        tuple[float, ...],
        Facts(
            "Lift at the valve, with the lash that the case has",
            "length",
            "in",
            "mm",
            low="0 mm",
            high="40 mm",
        ),
    ]
    rocker_ratio: Annotated[
        float,
        Facts(
            "Rocker ratio with which it was measured; with another one in the engine the lift "
            "follows",
            low="0.8",
            high="2.5",
            derived="the rocker ratio of this lobe",
            source="measured as it is built",
        ),
    ]


class Lobe(Part):
    """One lobe of the card."""

    durations: Annotated[
        tuple[tuple[float, float], ...],
        Facts(
            "Crank degrees above a checking height, as ``214 deg @ 0.050 in``; several parted by "
            "commas",
            "angle",
            "deg",
            "deg",
            low="60 deg",
            high="450 deg",
            at_dimension="length",
            derived="**needed**, or a lift_table; the seat duration at 0.006 in is added to a card "
            "that begins higher: duration at 0.050 in + 46 deg (solid flat lifter + 38 deg)",
            source="two published cards (37 and 44 deg) and estimates of 50-60 deg",
            band="6 deg",
        ),
    ]
    measured_at: Annotated[
        Literal["lifter", "valve"],
        Facts(
            "Where the checking heights are measured",
            derived="lifter; valve for bucket and finger",
            source="common practice",
        ),
    ]
    lobe_lift: Annotated[
        float,
        Facts(
            "Nose minus base circle",
            "length",
            "in",
            "mm",
            low="1 mm",
            high="25 mm",
            derived="valve lift / rocker ratio",
        ),
    ]
    valve_lift: Annotated[
        float,
        Facts(
            "Gross valve lift: lobe lift x rocker ratio, lash not taken off",
            "length",
            "in",
            "mm",
            low="1 mm",
            high="35 mm",
            derived="**needed**, or lobe_lift, or the top of the lift table and the lash",
        ),
    ]
    rocker_ratio: Annotated[
        float,
        Facts(
            "Valve lift over lobe lift",
            low="0.8",
            high="2.5",
            derived="1.5 with push rods, 1 under a bucket, 1.6 under a finger",
            source="common practice; ratios are nominal to 2 %",
            band="2 %",
        ),
    ]
    lash: Annotated[
        float,
        Facts(
            "Running clearance at the valve",
            "length",
            "in",
            "mm",
            low="0 mm",
            high="1.5 mm",
            derived="0 hydraulic, 0.020 in solid, 0.008 in bucket, 0 finger",
            source="common practice",
            band="0.003 in",
        ),
    ]
    lift_table: Annotated[
        LiftTable | None, Facts("Measured lift, in place of durations and lift")
    ] = None


class CardEvents(Part):
    """The four events printed on the card; they are only compared."""

    height: Annotated[
        float,
        Facts(
            "Checking height of the printed events",
            "length",
            "in",
            "mm",
            low="0 mm",
            high="5 mm",
            default="0.050 in",
            source="common practice",
        ),
    ]
    intake_opens: Annotated[
        float | None, Facts("Before top dead centre", "angle", "deg", "deg", "-90", "180")
    ] = None
    intake_closes: Annotated[
        float | None, Facts("After bottom dead centre", "angle", "deg", "deg", "-90", "180")
    ] = None
    exhaust_opens: Annotated[
        float | None, Facts("Before bottom dead centre", "angle", "deg", "deg", "-90", "180")
    ] = None
    exhaust_closes: Annotated[
        float | None, Facts("After top dead centre", "angle", "deg", "deg", "-90", "180")
    ] = None


class Cam(Part):
    """Both lobes and how they stand to the crank."""

    lifter: Annotated[
        Literal[
            "hydraulic flat", "solid flat", "hydraulic roller", "solid roller", "bucket", "finger"
        ],
        Facts(
            "What follows the lobe",
            derived="hydraulic flat with push rods, finger for sohc, bucket for dohc",
            source="common practice",
        ),
    ]
    face_diameter: Annotated[
        float | None,
        Facts(
            "Flat face of a lifter or bucket that the lobe runs on",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="60 mm",
            derived="0.842 in of a flat lifter, 33 mm of a bucket; rollers and fingers have none",
            source="common practice: the most usual sizes",
        ),
    ]
    lobe_separation: Annotated[
        float,
        Facts(
            "Half the crank angle between the lobe centres (cam degrees between them)",
            "angle",
            "deg",
            "deg",
            low="80 deg",
            high="140 deg",
        ),
    ]
    intake_centreline: Annotated[
        float,
        Facts(
            "Centre of the intake lobe after top dead centre",
            "angle",
            "deg",
            "deg",
            low="70 deg",
            high="150 deg",
            derived="lobe separation - 4 deg (or - advance)",
            source="catalogue practice: 4 deg ground in",
            band="2 deg",
        ),
    ]
    advance: Annotated[
        float | None,
        Facts(
            "Lobe separation minus intake centreline; another way to say the latter",
            "angle",
            "deg",
            "deg",
            low="-20 deg",
            high="20 deg",
        ),
    ] = None
    intake: Annotated[Lobe, Facts("Intake lobe")]
    exhaust: Annotated[Lobe, Facts("Exhaust lobe")]
    events: Annotated[CardEvents | None, Facts("Events printed on the card, to find misprints")] = (
        None
    )
