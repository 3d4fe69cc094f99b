"""Where does each number sit in the arrays that the kernels share?

Only named indices: no array is made here. Rows of a duct block are `STRIDE` apart, a constant at
compile time, because only then does the compiler vectorise loops over several rows.
"""

from __future__ import annotations

# Gas array (one dimension)
G_AIR = 0  # ten energy coefficients of air
G_FUEL = 10  # fuel minus air
G_BURNED = 20  # burned minus air
G_R = 30  # gas constants: air, fuel minus air, burned minus air
G_FUEL_AIR = 33  # mass of fuel per mass of air at this mixture
G_H_LIQUID = 34  # enthalpy of liquid fuel at 298.15 K
G_MU = 35  # viscosity of air at 300 K
G_PRANDTL = 36
G_OCTANE = 37  # (research + motor) / 2
G_T0 = 38  # dissociation tables: first temperature, step, count
G_DT = 39
G_NT = 40
G_LNP0 = 41  # first log pressure, step, count
G_DLNP = 42
G_NP = 43
G_H_INSIDE = 44  # what liquid fuel brings into a cylinder, with the heat that walls give it
G_TABLES = 48  # energy table (n_t, n_p), then gas-constant table

# Duct block: one group of ducts, rows of STRIDE cells in one flat buffer
STRIDE = 520  # cells a row; not a power of two, or rows alias in the cache
GROUP_CELLS = 512  # cells of a group that may be used, ghosts included
R_RHO = 0  # conserved: density, momentum, total energy, burned gas, fuel vapour (per volume)
R_MOM = 1
R_ENE = 2  # fuel without its heat of reaction, see gas.fuel_offset
R_BURNED = 3
R_FUEL = 4
R_U = 5  # primitive: velocity, pressure, temperature, fractions, sound speed
R_P = 6
R_T = 7
R_YB = 8
R_YF = 9
R_A = 10
R_E = 11  # specific internal energy, as R_ENE
N_SAVED = 13  # rows 0..12 are the state that a rejected step restores
R_HEAT_SUM = 12  # heat taken from the wall since the sum was reset, per volume [J/m3]
R_FRICTION = 13  # f/(2 D), so that du/dt = -R_FRICTION u |u| [1/m]
R_CONDUCTANCE = 14  # wall heat transfer coefficient times 4/D [W/(m3 K)]
R_AREA = 15  # area of the left face [m2]
R_INVERSE_VOLUME = 16
R_INVERSE_DX = 17
R_TAPER = 18  # (right area - left area) / volume [1/m]
R_INVERSE_AREA = 19  # of the left face [1/m2]
R_MEAN_AREA = 20  # volume over length [m2]
R_DIAMETER = 21  # mean diameter of the cell [m]
R_ROUGH = 22  # fully rough friction factor to the fourth power [-]
R_BEND = 23  # bend loss coefficient per length, halved [1/m]
R_T_WALL = 24
R_SPEED = 25  # (|u| + a) / dx [1/s]
R_LEFT = 26  # states at the left edge after half a step: rho, u, p, y_b, y_f, e
R_RIGHT = 32  # the same at its right edge
R_SOURCE = 38  # rate of change of momentum by area change and friction, per volume [N/m3]
R_FLUX = 39  # mass, momentum, energy, burned, fuel through the left face, times area

# Scratch rows of a duct block that serve the ends of its ducts, one column an end: what meets at
# the face, duct and reservoir, then the face itself and what crosses it outwards
F_RHO = 44  # duct: density, outward velocity, pressure, fractions, ratio of heats
F_U = 45
F_P = 46
F_YB = 47
F_YF = 48
F_GAMMA = 49
F_AREA = 50  # duct area, effective areas over it
F_RATIO_OUT = 51
F_RATIO_IN = 52
F_P_RES = 53  # reservoir
F_T_RES = 54
F_GAMMA_RES = 55
F_R_RES = 56
F_H_RES = 57
F_YB_RES = 58
F_YF_RES = 59
F_ROOT = 60  # last root and new one
F_NEW_ROOT = 61
F_FACE_RHO = 62  # face: density, outward velocity, pressure
F_FACE_U = 63
F_FACE_P = 64
F_MISSED = 65  # 1: not solved, the bracketed solver must
F_FLOW = 66  # mass, momentum, and stagnation enthalpy of the mass
F_MOMENTUM = 67
F_H = 68
# First column of a kind of end, see gather_ends: a third of a row, in whole fours.
THROTTLED = STRIDE // 12 * 4
N_ROWS = 69
BLOCK = N_ROWS * STRIDE

# Ducts (integer table): where each lies
D_GROUP = 0
D_FIRST = 1  # index of the first real cell in its group (the ghost is one before)
D_COUNT = 2
N_DUCT = 3

# Ends (integer table), two for each duct: 2 d at its start, 2 d + 1 at its finish
E_KIND = 0
E_TARGET = 1  # cylinder, volume or ambient index
E_SIDE = 2  # valve side: 0 intake, 1 exhaust
E_INJECTS = 3  # 1: port injection at this end
N_END_INDEX = 4
END_CLOSED = 0
END_VALVE = 1
END_VOLUME = 2
END_AMBIENT = 3

# Ends (float table): parameters, then what the last step left behind
EF_AREA = 0  # duct area at the end [m2]
EF_RATIO_OUT = 1  # effective area over duct area, flow leaving the duct [-]
EF_RATIO_IN = 2  # the same, flow entering the duct [-]
EF_EVAPORATED = 3  # fraction of the injected fuel that evaporates in the port [-]
EF_ROOT = 4  # warm start: last root
EF_MASS = 5  # flow out of the duct through this end [kg/s]
EF_P = 6  # face pressure of the last step [Pa]
EF_COLUMN = 7  # where it stands among the scratch rows of its group
N_END = 8

# Reservoirs (float table): every volume and every ambient, seen alike by ends and links
V_MASS = 0  # mass [kg], of which burned and fuel vapour; internal energy [J]
V_BURNED = 1
V_FUEL = 2
V_ENERGY = 3
V_P = 4
V_T = 5
V_GAMMA = 6
V_R = 7
V_H = 8  # specific enthalpy [J/kg]
V_YB = 9
V_YF = 10
V_VOLUME = 11  # [m3]; 0 for an ambient, whose state never changes
V_D_MASS = 12  # gains during the step under way
V_D_BURNED = 13
V_D_FUEL = 14
V_D_ENERGY = 15
V_GAIN_MASS = 16  # gains since the sums were reset (ambients too: what left the engine)
V_GAIN_BURNED = 17
V_GAIN_FUEL = 18
V_GAIN_ENERGY = 19
V_GAIN_HEAT = 20  # from its walls, without ducts [J]
V_PULL = 21  # slope of its pressure in the last step, had it had the present pressure [Pa/s]
V_OPENING = 22  # area of all its openings over its volume [1/m]; 0 for an ambient
V_SHIFT = 23  # change of its pressure in the step under way, as the links see it [Pa]
V_AHEAD = 24  # its pressure within the step under way, as the ducts see it [Pa]
V_PULL_CHANGE = 25  # the same less that of the step before [Pa/s]
V_STIFF = 26  # how fast its pressure followed its neighbours, without ducts [1/s]
V_WALL_T = 27  # walls of a duct that became a volume: temperature [K]
V_WALL_WAY = 28  # wall over cross-section, summed along it [-]
V_WALL_STILL = 29  # wall over diameter, the same [m]
V_WALL_REACH = 30  # diameter over cross-section, mean [1/m]
V_WALL_ROUGH = 31  # fully rough friction factor to the fourth power, mean [-]
V_CONDUCTANCE = 32  # heat that they give per kelvin, renewed every few degrees [W/K]
N_RESERVOIR = 33

# Links between reservoirs, or between a reservoir and a cylinder
L_FROM = 0
L_TO = 1
L_KIND = 2
L_SIDE = 3
N_LINK_INDEX = 4
LINK_ORIFICE = 0  # reservoir to reservoir
LINK_VALVE = 1  # L_FROM a reservoir, L_TO a cylinder, L_SIDE 0 intake, 1 exhaust
LF_AREA = 0  # effective area, forward [m2]
LF_AREA_BACK = 1
LF_FUEL = 2  # fraction of the mixture's fuel that evaporates in this stream (carburettor) [-]
LF_MASS = 3  # flow of the last step [kg/s]
LF_GAIN_FUEL = 4  # fuel added here since reset [kg]
LF_GAIN_AIR = 5  # air that passed forward since reset [kg]
LF_BACK_MASS = 6  # blown back into the open air, waiting to return: mass, burned, fuel, enthalpy
LF_BACK_BURNED = 7
LF_BACK_FUEL = 8
LF_BACK_ENERGY = 9
LF_SLOPE = 10  # change of the flow with the pressure drop [kg/(s Pa)]
N_LINK = 11

# Settings of a march (float vector)
S_OMEGA = 0  # crank speed [rad/s]
S_CFL = 1
S_MAX_STEP = 2  # longest step [rad]
S_SAMPLE = 3  # sample spacing [rad]
N_SETTING = 4

# Clock (float vector)
T_THETA = 0  # engine angle since the start of the cycle [rad]
T_TIME = 1
T_STEPS = 2
T_REJECTED = 3
T_CELLS = 4  # cell updates
T_SPEED = 5  # fastest change of the last step, see step.renewal [1/s]
T_SINCE_WALL = 6
N_CLOCK = 8

# Exchange table, a row for each cylinder: what passed its valves
X_AIR = 0  # gains during the step under way [kg], energy [J]
X_FUEL = 1
X_BURNED = 2
X_ENERGY = 3
X_INTAKE = 4  # flow of the last step, into the cylinder [kg/s]
X_EXHAUST = 5  # the same, out of the cylinder
X_SUM_AIR = 6  # sums since reset: net air and fuel through the intake side
X_SUM_FUEL = 7
X_SUM_SUPPLY = 8  # fuel injected at this cylinder, liquid and evaporated
X_SUM_INSIDE = 9  # fuel that evaporated inside
X_SUM_OUT = 10  # net mass, enthalpy, air and fuel out through the exhaust valves
X_SUM_OUT_ENERGY = 11
X_SUM_OUT_AIR = 12
X_SUM_OUT_FUEL = 13
X_AREA_IN = 14  # effective valve areas at this step: intake forward, back, exhaust forward, back
X_AREA_IN_BACK = 15
X_AREA_OUT = 16
X_AREA_OUT_BACK = 17
X_SHIFT = 18  # change of the pressure in the step under way, as the links see it [Pa]
X_STIFF = 19  # how fast it followed its neighbours, without ducts [1/s]
N_EXCHANGE = 20

# Tape: one row a sample; channels of each cylinder, then p and T of each reservoir, then the cells
K_P = 0
K_T = 1
K_T_UNBURNED = 2
K_MASS = 3
K_BURNED = 4
K_INTAKE = 5
K_EXHAUST = 6
K_HEAT = 7
K_KNOCK = 8
K_PER_CYLINDER = 9

# Rows of a duct block that a rolled-back segment restores; the others follow from them
N_CONSERVED = 5
SAVED_ROWS = 7  # the conserved rows, the temperature and the heat sum
