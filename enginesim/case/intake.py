"""The intake: plenum, runners, and the carburettor or throttle body."""

from typing import Annotated, Literal

from enginesim.case.facts import Facts, Part

_PLENUM = "single 0.5 x displacement (1.0 x with long injected runners), divided 0.25 x a side"
_RUNNER = (
    "divided 6.5 in, 5 to 8 in along the bank; single 5 in; single with a throttle body 15 in; "
    "individual throttles 6 in; open stacks 10 in; scaled on bore from 4 in"
)


class Intake(Part):
    """Plenum and runners."""

    layout: Annotated[
        Literal["single plenum", "divided plenum", "individual throttles", "open stacks"],
        Facts("Kind of manifold"),
    ]
    plenum_volume: Annotated[
        float,
        Facts(
            "Volume of one plenum (of each half of a divided one)",
            "volume",
            "in3",
            "L",
            low="0.02 L",
            high="60 L",
            derived=_PLENUM,
            source="estimate",
            band="40 %",
        ),
    ]
    plenum_groups: Annotated[
        tuple[tuple[int, ...], ...],
        Facts(
            "Cylinders fed by each plenum",
            derived="all by a single one; every other one of the firing order by each half of a "
            "divided one; each cylinder its own with individual throttles or open stacks",
            source="common practice",
        ),
    ]
    runner_lengths: Annotated[
        tuple[float, ...],
        Facts(
            "Runner from the plenum to the head flange, each cylinder (one value: all alike)",
            "length",
            "in",
            "mm",
            low="0 mm",
            high="3000 mm",
            derived=_RUNNER,
            source="estimate: few are published; measure it first",
            band="20 %",
            per_cylinder=True,
        ),
    ]
    runner_stations: Annotated[
        tuple[tuple[float, float], ...],
        Facts(
            "Inside diameter along the runner, as ``2.0 in @ 0, 1.8 in @ 1``: 0 at the plenum, "
            "1 at the head",
            "length",
            "in",
            "mm",
            low="6 mm",
            high="200 mm",
            at_dimension="ratio",
            derived="from 1.12 x the port's flange diameter to that diameter",
            source="estimate",
            band="4 %",
        ),
    ]
    bends: Annotated[
        tuple[tuple[float, float], ...],
        Facts(
            "Bends of a runner, as ``60 deg @ 3 in``: angle and centre-line radius",
            "angle",
            "deg",
            "deg",
            low="0 deg",
            high="360 deg",
            at_dimension="length",
            at_first=False,
            derived="60 deg at 2 x flange diameter; none with individual throttles or open stacks",
            source="estimate",
        ),
    ]
    entry: Annotated[
        Literal["bell-mouth", "radiused", "sharp", "re-entrant"],
        Facts(
            "Shape of the runner's open end",
            derived="bell-mouth with individual throttles or open stacks, radiused otherwise",
            source="common practice",
        ),
    ]
    wall_temperature: Annotated[
        float,
        Facts(
            "Wall of plenum and runners",
            "temperature",
            "degF",
            "degC",
            low="-40 degC",
            high="200 degC",
            derived="80 degC under a carburettor, 55 degC otherwise",
            source="estimate: 80-100 degC is quoted for heated manifolds",
            band="8 K",
        ),
    ]


class Throttle(Part):
    """Carburettor or throttle body, of the whole engine (of each cylinder if individual)."""

    kind: Annotated[
        Literal["carburettor", "throttle body", "none"],
        Facts(
            "What stands before the plenum",
            derived="**needed**; none with open stacks, throttle body with individual throttles",
            source="what the manifold implies",
        ),
    ]
    flow: Annotated[
        float | None,
        Facts(
            "Rated air flow; after ``@`` the pressure drop of the rating",
            "volume flow",
            "cfm",
            "L/s",
            low="5 cfm",
            high="5000 cfm",
            derived="**needed**, or the diameter",
            at="drop",
        ),
    ] = None
    drop: Annotated[
        float,
        Facts(
            "Pressure drop of the rating",
            "pressure",
            "inHg",
            "kPa",
            low="0.1 inHg",
            high="6 inHg",
            derived="1.5 inHg for a carburettor; a throttle body has no usual one",
            source="rating of four-barrel carburettors (one- and two-barrels: 3 inHg)",
        ),
    ]
    diameter: Annotated[
        float | None,
        Facts("Bore of one throttle", "length", "in", "mm", low="5 mm", high="250 mm"),
    ] = None
    count: Annotated[
        int,
        Facts(
            "Number of such throttles",
            low="1",
            high="16",
            derived="1; 2 to 4 where flow and bore were given and need so many",
            source="convention",
        ),
    ]
    discharge_coefficient: Annotated[
        float,
        Facts(
            "Effective area over bore area, wide open",
            low="0.3",
            high="1",
            default="0.90",
            source="0.85-0.95 by common practice",
            band="0.04",
        ),
    ]
    opening: Annotated[
        float,
        Facts(
            "Part of the wide-open effective area that is open",
            low="0.005",
            high="1",
            default="1",
            source="wide open by convention",
        ),
    ]
