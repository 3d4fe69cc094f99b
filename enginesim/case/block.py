"""The block: cylinders, crank, compression and bearings."""

from typing import Annotated, Literal

from enginesim.case.facts import Facts, Part

_BEARING = "estimate: proportions usual in production engines"


class Block(Part):
    """Cylinders, crank, compression and bearings."""

    n_cylinders: Annotated[
        int, Facts("Number of cylinders", low="1", high="16", default="8", source="convention")
    ]
    arrangement: Annotated[
        Literal["in-line", "vee", "flat"],
        Facts(
            "How the cylinders stand; decides the usual banks and the number of bearings",
            derived="vee for 8, 10, 12 and 16 cylinders, in-line otherwise",
            source="common practice",
        ),
    ]
    bore: Annotated[float, Facts("Cylinder bore", "length", "in", "mm", low="20 mm", high="300 mm")]
    stroke: Annotated[
        float, Facts("Piston stroke", "length", "in", "mm", low="20 mm", high="400 mm")
    ]
    rod_length: Annotated[
        float,
        Facts(
            "Connecting rod between centres",
            "length",
            "in",
            "mm",
            low="30 mm",
            high="1000 mm",
            derived="1.64 x stroke",
            source="ratio of a common V8, 5.7 in on 3.48 in",
            band="3 %",
        ),
    ]
    pin_offset: Annotated[
        float,
        Facts(
            "Piston-pin offset, positive towards the major thrust side",
            "length",
            "in",
            "mm",
            low="-10 mm",
            high="10 mm",
            default="0 mm",
            source="common practice",
        ),
    ]
    firing_order: Annotated[
        tuple[int, ...],
        Facts(
            "Cylinder numbers in the order in which they fire",
            derived="the usual order for that many cylinders",
            source="common practice",
        ),
    ]
    firing_intervals: Annotated[
        tuple[float, ...],
        Facts(
            "Crank angle from each firing of the order to the next (one value: all alike); their "
            "sum is 720 deg",
            "angle",
            "deg",
            "deg",
            low="1 deg",
            high="720 deg",
            derived="even: 720 deg / cylinders",
            source="common practice",
            per_cylinder=True,
        ),
    ]
    banks: Annotated[
        tuple[tuple[int, ...], ...],
        Facts(
            "Cylinders whose exhausts join, one group for each collector or manifold, in the "
            "order along the bank",
            derived="odd and even numbers for a vee of eight, halves otherwise; threes for an "
            "in-line six",
            source="common practice",
        ),
    ]
    compression_ratio: Annotated[
        float,
        Facts(
            "Geometric compression ratio",
            low="4",
            high="20",
            derived="**needed**, or chamber_volume and the other pieces",
            band="0.25",
        ),
    ]
    chamber_volume: Annotated[
        float | None,
        Facts("Combustion chamber in the head", "volume", "cc", "cc", low="2 cc", high="1000 cc"),
    ] = None
    gasket_bore: Annotated[
        float | None,
        Facts(
            "Bore of the head gasket",
            "length",
            "in",
            "mm",
            low="20 mm",
            high="320 mm",
            derived="bore + 0.07 in, when the ratio comes from the pieces",
            source="common practice",
            band="0.03 in",
        ),
    ] = None
    gasket_thickness: Annotated[
        float | None,
        Facts(
            "Head gasket, crushed",
            "length",
            "in",
            "mm",
            low="0.2 mm",
            high="4 mm",
            derived="0.040 in, when the ratio comes from the pieces",
            source="common practice",
            band="0.005 in",
        ),
    ] = None
    deck_clearance: Annotated[
        float | None,
        Facts(
            "Piston below the deck at top dead centre (negative above it)",
            "length",
            "in",
            "mm",
            low="-3 mm",
            high="6 mm",
            derived="0.020 in, when the ratio comes from the pieces",
            source="common practice in production",
            band="0.006 in",
        ),
    ] = None
    dish_volume: Annotated[
        float | None,
        Facts(
            "Dish and valve reliefs of the piston (a dome is negative)",
            "volume",
            "cc",
            "cc",
            low="-60 cc",
            high="120 cc",
            derived="5.5 cc scaled on bore cubed from 4 in, when the ratio comes from the pieces; "
            "what makes them agree where ratio and chamber were given",
            source="estimate: 5-6 cc of reliefs",
            band="2 cc",
        ),
    ] = None
    crevice_volume: Annotated[
        float,
        Facts(
            "Ring-land crevice of one cylinder, added to the pieces",
            "volume",
            "cc",
            "cc",
            low="0 cc",
            high="10 cc",
            default="0 cc",
            source="left out of the geometric ratio by common practice",
        ),
    ]
    main_bearing_diameter: Annotated[
        float,
        Facts(
            "Main bearing",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="200 mm",
            derived="0.61 x bore",
            source=_BEARING,
            band="8 %",
        ),
    ]
    main_bearing_length: Annotated[
        float,
        Facts(
            "Width of one main bearing",
            "length",
            "in",
            "mm",
            low="5 mm",
            high="100 mm",
            derived="0.20 x bore",
            source=_BEARING,
            band="12 %",
        ),
    ]
    n_main_bearings: Annotated[
        int,
        Facts(
            "Number of main bearings",
            low="2",
            high="20",
            derived="crank throws + 1; two cylinders on a throw in a vee",
            source="common practice",
        ),
    ]
    rod_bearing_diameter: Annotated[
        float,
        Facts(
            "Big-end bearing",
            "length",
            "in",
            "mm",
            low="10 mm",
            high="200 mm",
            derived="0.53 x bore",
            source=_BEARING,
            band="8 %",
        ),
    ]
    rod_bearing_length: Annotated[
        float,
        Facts(
            "Width of one big-end bearing",
            "length",
            "in",
            "mm",
            low="5 mm",
            high="100 mm",
            derived="0.20 x bore",
            source=_BEARING,
            band="12 %",
        ),
    ]
    n_cam_bearings: Annotated[
        int,
        Facts(
            "Number of cam bearings in the whole engine",
            low="1",
            high="80",
            derived="as many as main bearings for a cam in the block; cylinders of a bank + 1 "
            "for each cam in the head",
            source="common practice",
        ),
    ]
