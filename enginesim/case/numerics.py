"""How the equations are solved; the engine does not change with these."""

from typing import Annotated, Final, Literal

from enginesim.case.facts import Facts, Part

#: Cells of a hot duct over those of a cold one: they grow with the sound speed, that of 920 K over
#: that of intake air.
HOT_CELLS: Final = 1.75
#: Cells that one duct can have.
MOST_CELLS: Final = 510
_STUDY = "mesh study: 15 to 30 mm changes torque by 0.1-0.3 %"


class Numerics(Part):
    """Mesh, steps and when to stop."""

    fidelity: Annotated[
        Literal["wave", "filling"],
        Facts("Ducts with waves, or one volume for each duct", default="wave", source="convention"),
    ]
    cell_size: Annotated[
        float,
        Facts(
            "Cell in cold ducts; hot ones get longer cells",
            "length",
            "mm",
            "mm",
            low="2 mm",
            high="200 mm",
            default="20 mm",
            source=_STUDY,
        ),
    ]
    cfl: Annotated[
        float,
        Facts("Courant number", low="0.1", high="0.95", default="0.8", source="common practice"),
    ]
    crank_step: Annotated[
        float,
        Facts(
            "Largest step; 2.5 times that without waves",
            "angle",
            "deg",
            "deg",
            low="0.05 deg",
            high="2 deg",
            default="1 deg",
            source="one sample of the record",
        ),
    ]
    bmep_tolerance: Annotated[
        float,
        Facts(
            "Converged when BMEP changes by less from cycle to cycle",
            "pressure",
            "psi",
            "bar",
            low="1 Pa",
            high="50 kPa",
            default="1 kPa",
            source="a tenth of a per cent at full load",
        ),
    ]
    imbalance_tolerance: Annotated[
        float,
        Facts(
            "Converged also needs the mass that volumes gain in a cycle below this part of the air",
            low="1e-8",
            high="0.05",
            default="1e-4",
            source="far below any measurement",
        ),
    ]
    min_cycles: Annotated[
        int,
        Facts(
            "Fewest cycles",
            low="1",
            high="1000",
            derived="3, or the most cycles if fewer",
            source="common practice",
        ),
    ]
    max_cycles: Annotated[
        int,
        Facts(
            "Most cycles; not converged by then is reported",
            low="1",
            high="10000",
            default="40",
            source="closed throttle takes up to 40",
        ),
    ]
