"""Where does each number sit in the rows of vessels and joints that the kernels of `filling` use?

A vessel is a reservoir or a cylinder: reservoirs first, then cylinders. Only named indices.
"""

from __future__ import annotations

# Vessels (float table): the state at the step's start
Z_P = 0
Z_T = 1
Z_GAMMA = 2
Z_R = 3
Z_H = 4
Z_YB = 5
Z_YF = 6
Z_MASS = 7
Z_VOLUME = 8  # at the middle of the step [m3]; 0 for the open air
Z_ROOM = 9  # volume that a change of pressure fills, the piston's way included [m3]
Z_FORCED = 10  # volume times the change that piston and walls make [J]
Z_PART = 11  # part of the step at whose end links see its pressure [-]
Z_SHIFT = 12  # change of its pressure over the step [Pa]
Z_SEEN = 13  # pressure that the links see [Pa]
Z_MEAN_T = 14  # means over the step of what leaves it
Z_MEAN_H = 15
Z_MEAN_YB = 16
Z_MEAN_YF = 17
Z_SPEED = 18  # 1/sqrt(R T) of that mean [s/m]
Z_IN = 19  # what comes in over the step: mass, burned, fuel, enthalpy, capacity, capacity times T
Z_IN_BURNED = 20
Z_IN_FUEL = 21
Z_IN_ENTHALPY = 22
Z_IN_CAPACITY = 23
Z_IN_HEAT = 24
Z_DIAGONAL = 25  # equation of its shift
Z_RIGHT = 26
Z_STIFF = 27  # how fast its pressure follows its neighbours [1/s]
Z_WARMED = 28  # heat from the walls over the step [J]
Z_CV = 29  # heat capacity at constant volume [J/(kg K)]
Z_COLDER = 30  # (gamma - 1)/gamma [-]
Z_PER_MASS = 31  # one over its mass [1/kg]
Z_PER_CAPACITY = 32  # one over its heat capacity at constant pressure [K/J]
N_VESSEL = 33

# Joints (integer table), see network.elimination
J_START = 0
J_FINISH = 1
J_AHEAD = 2  # place of what the start's equation has of the finish's pressure
J_BACK = 3

# Joints (float table): a link linearised
Q_AREA = 0  # effective areas of this step [m2]
Q_AREA_BACK = 1
Q_MASS = 2  # flow, positive from start to finish [kg/s]
Q_AT_START = 3  # flow without shifts, and its slopes in both vessels' shifts
Q_BY_START = 4
Q_BY_FINISH = 5
Q_SIDE = 6  # 1: the start is upstream, -1: the finish, 0: balance
N_JOINT = 7
