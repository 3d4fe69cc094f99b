"""How much passes an opening per pressure upstream, and how fast does that grow with the drop?

Written as a smooth law of the drop over the upstream pressure, so that Newton's method may follow
it: the flow is that pressure times the law, and so linear in both pressures for a given drop.
"""

from __future__ import annotations

import math

from enginesim.base.formula import formula

#: Drop over pressure about which the root of the drop turns into a straight line: 10 Pa in air.
#: A root's infinite slope at balance has no step that follows it.
SOFT = 1e-4
_NEAR = 0.06  # drop below which the power of the ratio takes its series


@formula
def passage(drop: float, a: float) -> tuple[float, float]:
    r"""
    Law of an opening and its slope.

    Parameters
    ----------
    drop : float
        Pressure drop over upstream pressure, 0 to 1. [-]
    a : float
        (gamma - 1)/gamma of the gas upstream. [-]

    Returns
    -------
    tuple of float
        Mass flow times sqrt(R T)/(area p), all of upstream, and its slope in `drop`. [-]

    Notes
    -----
    With :math:`r` the pressure ratio and :math:`h = 1 - r^a` the
    isentropic nozzle passes :math:`\psi = (r/(1-h)) \sqrt{2h/a}`, choked from
    :math:`h = a/(2-a)` on. Near balance :math:`h` is a series of positive terms, which rounding
    does not hurt. The root of the drop :math:`d` is replaced by
    :math:`d/(d^2 + \epsilon^2)^{1/4}`, with :math:`\epsilon` of :data:`SOFT`.

    Source: isentropic nozzle, J. B. Heywood, *Internal Combustion Engine Fundamentals*,
    McGraw-Hill, 1988, appendix C; the form without differences of near numbers is ours.
    """
    if drop < _NEAR:
        b = 1.0 - a
        tail = 1.0 + (6.0 + b) * 0.125 * drop * (1.0 + (7.0 + b) * (1.0 / 9.0) * drop)
        tail = 1.0 + (4.0 + b) * (1.0 / 6.0) * drop * (1.0 + (5.0 + b) * (1.0 / 7.0) * drop * tail)
        tail = 1.0 + (2.0 + b) * 0.25 * drop * (1.0 + (3.0 + b) * 0.2 * drop * tail)
        part = 1.0 + b * 0.5 * drop * (1.0 + (1.0 + b) * (1.0 / 3.0) * drop * tail)  # h/(a drop)
        r = 1.0 - drop
        q = 1.0 - a * drop * part
        square = drop * drop + SOFT * SOFT
        root = math.sqrt(square)
        per = 1.0 / (r * q * part * square)
        both = square * part * per  # 1/(r q)
        inverse = r * q * part * per  # 1/square
        scale = r * r * both * math.sqrt(2.0 * part * root * inverse)
        # Logarithmic slope times the drop: of the root, then of what stands beside it.
        soft = 1.0 - 0.5 * drop * drop * inverse
        beside = 0.5 * (q * q * square * per - 1.0) - b * drop * q * both
        return drop * scale, scale * (soft + beside)
    h = -math.expm1(a * math.log1p(-min(drop, 0.9)))
    choked = a / (2.0 - a)
    if h >= choked:
        ratio = (1.0 - choked) ** (1.0 / a)
        soft = 0.25 * (SOFT / (1.0 - ratio)) ** 2
        return ratio / (1.0 - choked) * math.sqrt(2.0 * choked / a) * (1.0 - soft), 0.0
    q = 1.0 - h
    r = 1.0 - drop
    flow = r / q * math.sqrt(2.0 * h / a)
    slope = r / (q * q * a * flow) * (a - (2.0 - a) * h)
    soft = 0.25 * (SOFT / drop) ** 2  # the same softening, of which no more is left here
    return flow * (1.0 - soft), slope * (1.0 - soft) + 2.0 * flow * soft / drop
