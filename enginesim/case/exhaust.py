"""The exhaust beyond the port: primaries, collectors, tail pipe and muffler."""

from typing import Annotated, Literal

from enginesim.case.facts import Facts, Part


class Exhaust(Part):
    """Pipes from the head flange to the open air, alike for every bank."""

    layout: Annotated[
        Literal["4-into-1", "4-into-2-into-1", "3-into-1", "2-into-1", "log", "single"],
        Facts("How the cylinders of one bank join"),
    ]
    primary_lengths: Annotated[
        tuple[float, ...],
        Facts(
            "Primary pipe of each cylinder (one value: all alike); of a log, its branches",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="4000 mm",
            derived="34 in; log 3 in; 4-into-2-into-1 16 in; scaled on bore from 4 in",
            source="long-tube headers 28-42 in by common practice; others estimates",
            band="4 in",
            per_cylinder=True,
        ),
    ]
    primary_diameter: Annotated[
        float,
        Facts(
            "Inside diameter of the primaries (tube outside less 0.10 in)",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="150 mm",
            derived="**needed**; log: 1.5 in scaled on bore from 4 in",
            source="estimate",
            band="8 %",
        ),
    ]
    secondary_length: Annotated[
        float,
        Facts(
            "Secondary pipe of a 4-into-2-into-1",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="3000 mm",
            derived="16 in",
            source="estimate",
            band="20 %",
        ),
    ]
    secondary_diameter: Annotated[
        float,
        Facts(
            "Its inside diameter",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="200 mm",
            derived="1.2 x primary diameter",
            source="estimate",
            band="8 %",
        ),
    ]
    merge_volume: Annotated[
        float,
        Facts(
            "Gas volume where the pipes of a bank meet",
            "volume",
            "in3",
            "cc",
            low="5 cc",
            high="20 L",
            derived="collector area x collector diameter",
            source="estimate",
            band="40 %",
        ),
    ]
    collector_length: Annotated[
        float,
        Facts(
            "Collector: of a log its outlet, of a single pipe none",
            "length",
            "in",
            "mm",
            low="0 mm",
            high="3000 mm",
            derived="14 in; log 6 in; single 0",
            source="estimate",
            band="25 %",
        ),
    ]
    collector_diameter: Annotated[
        float,
        Facts(
            "Its inside diameter",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="300 mm",
            derived="1.75 x primary diameter; log 1.35 x log diameter; single: the primary",
            source="estimate",
            band="10 %",
        ),
    ]
    tail_length: Annotated[
        float,
        Facts(
            "Pipe behind the collector, before or without a muffler (0: open collector)",
            "length",
            "in",
            "mm",
            low="0 mm",
            high="8000 mm",
            derived="0; log or muffler 60 in",
            source="estimate: dynamometer headers, or a road exhaust",
            band="25 %",
        ),
    ]
    tail_diameter: Annotated[
        float,
        Facts(
            "Its inside diameter",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="300 mm",
            derived="collector diameter, 0.85 x behind headers with a muffler",
            source="estimate",
            band="10 %",
        ),
    ]
    log_diameter: Annotated[
        float,
        Facts(
            "Inside diameter of a log or cast manifold's gallery",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="250 mm",
            derived="1.5 in scaled on bore from 4 in",
            source="estimate",
            band="15 %",
        ),
    ]
    log_segment_length: Annotated[
        float,
        Facts(
            "Gallery from one branch to the next",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="1000 mm",
            derived="1.1 x bore",
            source="estimate: bore spacing",
            band="5 %",
        ),
    ]
    bends: Annotated[
        tuple[tuple[float, float], ...],
        Facts(
            "Bends of a primary, as ``90 deg @ 3 in``: angle and centre-line radius",
            "angle",
            "deg",
            "deg",
            low="0 deg",
            high="360 deg",
            at_dimension="length",
            at_first=False,
            derived="two of 90 deg at 1.75 x primary diameter; one in a log",
            source="estimate",
        ),
    ]
    muffler: Annotated[
        Literal["none", "back-pressure", "volume"],
        Facts(
            "What stands at the end",
            derived="back-pressure behind a log, none otherwise",
            source="estimate: a road exhaust, or dynamometer headers",
        ),
    ]
    muffler_back_pressure: Annotated[
        float,
        Facts(
            "Loss of the muffler; after ``@`` the mass flow through it at which that was measured",
            "pressure",
            "psi",
            "kPa",
            low="0.1 kPa",
            high="100 kPa",
            derived="2.5 psi",
            source="estimate: cast manifolds 2-3 psi near peak power",
            band="40 %",
            at="muffler_flow",
        ),
    ]
    muffler_flow: Annotated[
        float,
        Facts(
            "Exhaust flow of that loss, in one muffler",
            "mass flow",
            "lb/h",
            "kg/h",
            low="1 kg/h",
            high="10000 kg/h",
            derived="displacement at 5000 rpm and 85 % filling, shared by the banks",
            source="estimate",
        ),
    ]
    muffler_volume: Annotated[
        float,
        Facts(
            "Gas volume of one muffler",
            "volume",
            "in3",
            "L",
            low="0.1 L",
            high="100 L",
            derived="2 x displacement, shared by the banks",
            source="estimate",
            band="40 %",
        ),
    ]
    crossover: Annotated[
        bool,
        Facts(
            "Whether all banks share one tail pipe and muffler",
            default="false",
            source="convention",
        ),
    ]
    wall_temperature_primary: Annotated[
        float,
        Facts(
            "Wall of the primaries or the log",
            "temperature",
            "degF",
            "degC",
            low="0 degC",
            high="1000 degC",
            derived="550 degC; log 480 degC",
            source="estimate: bare steel tube, or cast iron, at full load",
            band="80 K",
        ),
    ]
    wall_temperature_collector: Annotated[
        float,
        Facts(
            "Wall of collector and tail pipe",
            "temperature",
            "degF",
            "degC",
            low="0 degC",
            high="1000 degC",
            default="450 degC",
            source="estimate",
            band="80 K",
        ),
    ]
