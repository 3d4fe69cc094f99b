"""Losses of the cylinder: wall heat, blow-by and friction."""

from typing import Annotated, Literal

from enginesim.case.facts import Facts, Part

_WALL = "estimate: water-cooled engine at full load"


class CylinderWalls(Part):
    """Wall temperatures, heat-transfer relation and leakage."""

    piston_temperature: Annotated[
        float,
        Facts(
            "Piston crown",
            "temperature",
            "degF",
            "degC",
            low="0 degC",
            high="500 degC",
            default="260 degC",
            source=_WALL,
            band="30 K",
        ),
    ]
    head_temperature: Annotated[
        float,
        Facts(
            "Combustion chamber and valve faces",
            "temperature",
            "degF",
            "degC",
            low="0 degC",
            high="500 degC",
            default="220 degC",
            source=_WALL,
            band="30 K",
        ),
    ]
    liner_temperature: Annotated[
        float,
        Facts(
            "Cylinder bore",
            "temperature",
            "degF",
            "degC",
            low="0 degC",
            high="400 degC",
            default="140 degC",
            source=_WALL,
            band="20 K",
        ),
    ]
    heat_transfer: Annotated[
        Literal["woschni", "annand", "hohenberg"],
        Facts(
            "Relation for the wall heat transfer",
            default="annand",
            source="W. J. D. Annand 1963, with his radiation of spark-ignition engines; the other "
            "two were fitted to diesel engines (from memory)",
        ),
    ]
    multiplier: Annotated[
        float,
        Facts(
            "Factor on the wall heat transfer",
            low="0",
            high="4",
            default="1",
            source="the relation as published",
            band="0.2",
        ),
    ]
    piston_area_ratio: Annotated[
        float,
        Facts(
            "Area of the crown over that of the bore",
            low="0.8",
            high="3",
            default="1.05",
            source="estimate: nearly flat crown",
            band="0.05",
        ),
    ]
    head_area_ratio: Annotated[
        float,
        Facts(
            "Area of the chamber over that of the bore",
            low="0.8",
            high="3",
            default="1.25",
            source="estimate: wedge or pent roof",
            band="0.1",
        ),
    ]
    blow_by_area: Annotated[
        float,
        Facts(
            "Effective leak past the rings of one cylinder (0: none)",
            "area",
            "mm2",
            "mm2",
            low="0 mm2",
            high="20 mm2",
            default="0 mm2",
            source="left out",
        ),
    ]


class Friction(Part):
    """Friction model."""

    model: Annotated[
        Literal["component", "speed-pressure", "quadratic"],
        Facts(
            "Component by component, linear in speed and peak pressure, or quadratic in speed",
            default="component",
            source="K. Patton, R. Nitschke, J. B. Heywood, SAE 890836, 1989, revised 2003",
        ),
    ]
    multiplier: Annotated[
        float,
        Facts(
            "Factor on the friction",
            low="0",
            high="4",
            default="1",
            source="the model as published",
            band="0.12",
        ),
    ]
