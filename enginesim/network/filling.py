"""What is left of an engine when every duct is one volume with a lossy opening?

This is the fidelity `filling`: no waves, only filling and emptying. It shows what waves do, serves
lessons, and must agree with `wave` where waves have time to die away.
"""

from __future__ import annotations

import numpy as np

from enginesim.network.losses import ratio_from_loss
from enginesim.network.mesh import cut
from enginesim.network.pieces import Duct, End, Link, Plan, Volume

FRICTION = 0.025  # Darcy factor of a duct's wall as one lump; typical of runners at work


def without_ducts(plan: Plan) -> Plan:
    """
    Replace each duct by a volume; its ends become orifices.

    Parameters
    ----------
    plan : Plan
        Pieces with ducts.

    Returns
    -------
    Plan
        The same engine in volumes and links only.

    Notes
    -----
    A duct's opening to a reservoir has the duct's least area, reduced by the losses of its entry,
    wall friction and bends, and by the velocity head that is not recovered in the volume. Fuel
    that a port injector evaporates evaporates in that opening.
    """
    result = Plan([], list(plan.volumes), list(plan.links), plan.n_cylinders)
    for duct in plan.ducts:
        mesh = cut(duct)
        volume = result.add_volume(
            Volume(duct.name, float(mesh.volume.sum()), duct.p, duct.t, duct.y_b, duct.y_f)
        )
        injected = max(end.evaporated for end in (duct.start, duct.finish))
        loss = _loss(duct, mesh.diameter, mesh.dx)
        area = float(np.min(mesh.face_area))
        for end in (duct.start, duct.finish):
            link = _link(duct, end, volume, area, loss, injected)
            if link is not None:
                result.links.append(link)
    return result


def _loss(duct: Duct, diameter: np.ndarray, dx: float) -> float:
    """Loss of wall and bends on the head at the least area, half of it for each end."""
    head = (diameter.min() / diameter) ** 4
    friction = float(np.sum(FRICTION * dx / diameter * head))
    return 0.5 * (friction + sum(section.loss for section in duct.sections))


def _link(
    duct: Duct, end: End, volume: int, area: float, loss: float, injected: float
) -> Link | None:
    if end.kind == "closed":
        return None
    if end.kind == "valve":
        return Link(f"valve of {duct.name}", volume, end.target, valve=end.side)
    inward = area * ratio_from_loss(loss + end.ratio_in**-2.0 - 1.0)
    outward = area * ratio_from_loss(loss + end.ratio_out**-2.0 - 1.0)
    name = f"opening of {duct.name}"
    is_intake = injected > 0.0 or end is duct.start
    if is_intake:
        return Link(name, end.target, volume, inward, outward, fuel=injected)
    return Link(name, volume, end.target, outward, inward)
