"""How far from the beginning of a duct block does each row lie?

The offsets are unsigned and known at compile time, which is what makes the compiler vectorise;
they are made here once because a conversion inside a kernel costs a millisecond of compilation.
"""

from __future__ import annotations

import numpy as np

from enginesim.kernels import layout as at


def _offset(row: int) -> np.uint64:
    return np.uint64(row * at.STRIDE)


# Cells of a duct
ROW_RHO = _offset(at.R_RHO)
ROW_MOM = _offset(at.R_MOM)
ROW_ENE = _offset(at.R_ENE)
ROW_BURNED = _offset(at.R_BURNED)
ROW_FUEL = _offset(at.R_FUEL)
ROW_U = _offset(at.R_U)
ROW_P = _offset(at.R_P)
ROW_T = _offset(at.R_T)
ROW_YB = _offset(at.R_YB)
ROW_YF = _offset(at.R_YF)
ROW_A = _offset(at.R_A)
ROW_E = _offset(at.R_E)
ROW_HEAT_SUM = _offset(at.R_HEAT_SUM)
ROW_FRICTION = _offset(at.R_FRICTION)
ROW_CONDUCTANCE = _offset(at.R_CONDUCTANCE)
ROW_AREA = _offset(at.R_AREA)
ROW_INVERSE_VOLUME = _offset(at.R_INVERSE_VOLUME)
ROW_INVERSE_DX = _offset(at.R_INVERSE_DX)
ROW_TAPER = _offset(at.R_TAPER)
ROW_INVERSE_AREA = _offset(at.R_INVERSE_AREA)
ROW_MEAN_AREA = _offset(at.R_MEAN_AREA)
ROW_DIAMETER = _offset(at.R_DIAMETER)
ROW_ROUGH = _offset(at.R_ROUGH)
ROW_BEND = _offset(at.R_BEND)
ROW_T_WALL = _offset(at.R_T_WALL)
ROW_SPEED = _offset(at.R_SPEED)
ROW_SOURCE = _offset(at.R_SOURCE)

# States at the left and right edges of a cell
LEFT_RHO = _offset(at.R_LEFT)
LEFT_U = _offset(at.R_LEFT + 1)
LEFT_P = _offset(at.R_LEFT + 2)
LEFT_YB = _offset(at.R_LEFT + 3)
LEFT_YF = _offset(at.R_LEFT + 4)
LEFT_E = _offset(at.R_LEFT + 5)
RIGHT_RHO = _offset(at.R_RIGHT)
RIGHT_U = _offset(at.R_RIGHT + 1)
RIGHT_P = _offset(at.R_RIGHT + 2)
RIGHT_YB = _offset(at.R_RIGHT + 3)
RIGHT_YF = _offset(at.R_RIGHT + 4)
RIGHT_E = _offset(at.R_RIGHT + 5)

# Steps between the rows of an edge
EDGE_U = _offset(1)
EDGE_P = _offset(2)
EDGE_YB = _offset(3)
EDGE_YF = _offset(4)

# Fluxes through the left face
FLUX_MASS = _offset(at.R_FLUX)
FLUX_MOM = _offset(at.R_FLUX + 1)
FLUX_ENE = _offset(at.R_FLUX + 2)
FLUX_BURNED = _offset(at.R_FLUX + 3)
FLUX_FUEL = _offset(at.R_FLUX + 4)

# Ends of ducts, one column an end
END_RHO = _offset(at.F_RHO)
END_U = _offset(at.F_U)
END_P = _offset(at.F_P)
END_YB = _offset(at.F_YB)
END_YF = _offset(at.F_YF)
END_GAMMA = _offset(at.F_GAMMA)
END_AREA = _offset(at.F_AREA)
END_RATIO_OUT = _offset(at.F_RATIO_OUT)
END_RATIO_IN = _offset(at.F_RATIO_IN)
END_P_RES = _offset(at.F_P_RES)
END_T_RES = _offset(at.F_T_RES)
END_GAMMA_RES = _offset(at.F_GAMMA_RES)
END_R_RES = _offset(at.F_R_RES)
END_H_RES = _offset(at.F_H_RES)
END_YB_RES = _offset(at.F_YB_RES)
END_YF_RES = _offset(at.F_YF_RES)
END_ROOT = _offset(at.F_ROOT)
END_NEW_ROOT = _offset(at.F_NEW_ROOT)
END_FACE_RHO = _offset(at.F_FACE_RHO)
END_FACE_U = _offset(at.F_FACE_U)
END_FACE_P = _offset(at.F_FACE_P)
END_MISSED = _offset(at.F_MISSED)
END_FLOW = _offset(at.F_FLOW)
END_MOMENTUM = _offset(at.F_MOMENTUM)
END_H = _offset(at.F_H)
