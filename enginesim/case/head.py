"""The head: valves, ports and what they flowed on the bench."""

from typing import Annotated, Final, Literal

from enginesim.case.facts import Facts, Part

#: Lift over a valve's diameter, and valves side by side over the bore: no engine goes beyond.
MOST_LIFT: Final = 0.50
MOST_ACROSS: Final = 1.02
#: Width of the valves of one side over one valve; three stand on an arc of the bore's edge.
SIDE_BY_SIDE: Final = {1: 1.0, 2: 2.0, 3: 2.35}


class FlowSheet(Part):
    """Flow-bench sheet of one whole port, all its valves open."""

    lift: Annotated[
        tuple[float, ...],
        Facts(
            "Valve lifts of the sheet, ascending",
            "length",
            "in",
            "mm",
            low="0 mm",
            high="40 mm",
            derived="0.05 to 0.35 of the valve diameter",
            source="places of the usual shape",
        ),
    ]
    flow: Annotated[
        tuple[float, ...],
        Facts(
            "Flow at each lift; after ``@`` the depression",
            "volume flow",
            "cfm",
            "L/s",
            low="0 cfm",
            high="2000 cfm",
            derived="peak_flow spread over the lifts by one shape; exhaust without any figure: "
            "0.75 x intake at equal lift, or what the given sizes of the port pass",
            source="estimate: shape of two-valve heads; exhaust ratio 70-80 % by common practice",
            band="5 %",
            at="depression",
        ),
    ]
    depression: Annotated[
        float,
        Facts(
            "Pressure difference on the bench",
            "pressure",
            "inH2O",
            "kPa",
            low="1 inH2O",
            high="80 inH2O",
            derived="28 inH2O, or that of peak_flow",
            source="usual in the trade",
        ),
    ]
    bench_temperature: Annotated[
        float,
        Facts(
            "Air at the bench",
            "temperature",
            "degF",
            "degC",
            low="-20 degC",
            high="60 degC",
            default="68 degF",
            source="estimate: a workshop",
            band="6 K",
        ),
    ]
    bench_pressure: Annotated[
        float,
        Facts(
            "Barometer at the bench",
            "pressure",
            "inHg",
            "kPa",
            low="50 kPa",
            high="110 kPa",
            default="101.325 kPa",
            source="standard atmosphere",
            band="1.5 kPa",
        ),
    ]
    entry: Annotated[
        Literal["radiused", "clay", "none"],
        Facts(
            "What rounded the port's open end on the bench",
            derived="radiused for the intake, none for the exhaust",
            source="common practice",
        ),
    ]


class Port(Part):
    """Valves and port of one side of one cylinder."""

    n_valves: Annotated[
        int, Facts("Valves of this side, each cylinder", low="1", high="3", default="1",
                   source="two-valve head")
    ]  # fmt: skip
    valve_diameter: Annotated[
        float,
        Facts(
            "Valve head",
            "length",
            "in",
            "mm",
            low="8 mm",
            high="120 mm",
            derived="intake 0.50 x bore (a pair 0.40, three 0.33); exhaust 0.79 x intake "
            "(a pair 0.86)",
            source="2.02 and 1.60 in on a 4.03 in bore are common; pairs: estimate",
            band="3 %",
        ),
    ]
    seat_width: Annotated[
        float,
        Facts(
            "Width of the seat, along its face",
            "length",
            "in",
            "mm",
            low="0.3 mm",
            high="6 mm",
            derived="intake 0.035 x valve, exhaust 0.045 x valve",
            source="estimate",
            band="25 %",
        ),
    ]
    seat_angle: Annotated[
        float,
        Facts(
            "Seat, from the plane of the valve head",
            "angle",
            "deg",
            "deg",
            low="15 deg",
            high="60 deg",
            default="45 deg",
            source="common practice",
        ),
    ]
    stem_diameter: Annotated[
        float,
        Facts(
            "Valve stem",
            "length",
            "in",
            "mm",
            low="3 mm",
            high="20 mm",
            derived="0.172 x intake valve, on both sides",
            source="common practice: 11/32 in with 2.02 in valves, 3/8 with 2.19, 6 mm with 35",
            band="8 %",
        ),
    ]
    peak_flow: Annotated[
        float | None,
        Facts(
            "Best flow of the port, when there is no sheet; after ``@`` the depression",
            "volume flow",
            "cfm",
            "L/s",
            low="5 cfm",
            high="2000 cfm",
            derived="**needed** for the intake, or a sheet",
            at="peak_depression",
        ),
    ] = None
    peak_depression: Annotated[
        float,
        Facts(
            "Pressure difference of that figure",
            "pressure",
            "inH2O",
            "kPa",
            low="1 inH2O",
            high="80 inH2O",
            derived="28 inH2O",
            source="usual in the trade",
        ),
    ]
    sheet: Annotated[FlowSheet, Facts("Flow-bench sheet of one whole port, all its valves open")]
    reverse_flow_ratio: Annotated[
        float,
        Facts(
            "Flow the wrong way through the valve, over that the right way",
            low="0.3",
            high="1.5",
            derived="0.9; less where a given section passes no more",
            source="estimate",
            band="0.1",
        ),
    ]
    port_volume: Annotated[
        float,
        Facts(
            "Volume of the port from the flange to the valve seat",
            "volume",
            "cc",
            "cc",
            low="3 cc",
            high="1000 cc",
            derived="1.11 x smallest area x length",
            source="common ratio of mean to smallest area of two-valve ports",
            band="6 %",
        ),
    ]
    port_length: Annotated[
        float,
        Facts(
            "Length of the port along its centre",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="400 mm",
            derived="5.4 in intake, 3.0 in exhaust, scaled on bore from 4 in; shorter where "
            "the given volume, section and flow need it",
            source="estimate",
            band="0.4 in",
        ),
    ]
    port_area_min: Annotated[
        float,
        Facts(
            "Smallest section of the port",
            "area",
            "in2",
            "cm2",
            low="0.3 cm2",
            high="150 cm2",
            derived="0.0101 in2 for each cc of port volume and inch scaled on length; without a "
            "volume, 1.15 x the effective area of the best flow; more where the flow needs it",
            source="intakes of 13 published small V8 heads; without a volume: estimate",
            band="6 %",
        ),
    ]
    port_flange_diameter: Annotated[
        float,
        Facts(
            "Round opening at the flange with the same area",
            "length",
            "in",
            "mm",
            low="6 mm",
            high="150 mm",
            derived="the port tapers evenly and has its volume; at least the smallest area",
            source="estimate",
            band="5 %",
        ),
    ]
    wall_temperature: Annotated[
        float,
        Facts(
            "Wall of the port",
            "temperature",
            "degF",
            "degC",
            low="-20 degC",
            high="700 degC",
            derived="intake 95 degC, exhaust 250 degC",
            source="estimate: cooled head at full load",
            band="20 K",
        ),
    ]


class Head(Part):
    """Ports, valves and the kind of valvetrain."""

    valvetrain: Annotated[
        Literal["ohv", "sohc", "dohc"],
        Facts(
            "Push rods, one cam or two cams over the head",
            derived="ohv for one valve a side, dohc for more",
            source="common practice",
        ),
    ]
    follower: Annotated[
        Literal["flat", "roller", "finger"],
        Facts("What rubs on the cam", derived="from cam.lifter", source="the lifter itself"),
    ]
    intake: Annotated[Port, Facts("Intake valves and port")]
    exhaust: Annotated[Port, Facts("Exhaust valves and port")]
