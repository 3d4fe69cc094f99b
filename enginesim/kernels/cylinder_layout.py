"""Where does each number sit in a cylinder's row, and in its row of parameters?

Angles are the cylinder's own: 0 at its firing top dead centre, from -2 pi to 2 pi. Only named
indices: no array is made here. A row of the state is `N_CYLINDER` long, one of the parameters
`N_PARAMETER`.
"""

from __future__ import annotations

# The parameters' geometry
P_BORE = 0  # [m]
P_STROKE = 1  # twice the crank radius [m]
P_ROD = 2  # between centres [m]
P_PIN_OFFSET = 3  # of the crank's centre from the bore's axis [m]
P_CLEARANCE = 4  # volume at top dead centre [m3]

# The parameters' walls
P_AREA_HEAD = 5  # [m2]
P_AREA_PISTON = 6
P_AREA_LINER = 7  # liner in view at top dead centre; the rest follows from the piston
P_T_HEAD = 8  # [K]
P_T_PISTON = 9
P_T_LINER = 10
P_HEAT_MODEL = 11  # one of HEAT_...
P_HEAT_FACTOR = 12  # multiplier of the wall heat; 0: adiabatic [-]
P_BLOW_BY_AREA = 13  # effective area past the rings; 0: tight [m2]
P_P_CRANKCASE = 14  # [Pa]

# The parameters' valves and spark, own angles [rad]
P_IVC = 15  # intake valve's last closing, before the firing top dead centre: negative
P_EVO = 16  # exhaust valve's first opening: positive
P_SPARK = 17  # after P_EVO: never; may be changed between cycles

# The parameters' combustion
P_WIEBE_A = 18  # [-]
P_WIEBE_M = 19
P_DELAY = 20  # spark to 10 % burned at the base point [rad]
P_DURATION = 21  # 10 % to 90 % burned at the base point [rad]
P_OMEGA_BASE = 22  # crank speed of the base point [rad/s]
P_SPEED_EXPONENT = 23  # both angles grow as (speed / base) to this power [-]
P_FLAME_BASE = 24  # laminar burning velocity of the base point [m/s]
P_FLAME_EXPONENT = 25  # both angles fall as (burning velocity / base) to this power [-]
P_EFFICIENCY = 26  # part of the fuel that burns as the flame passes [-]
P_STOICHIOMETRIC = 27  # stoichiometric mass of fuel per mass of air [-]

# The parameters' laminar burning velocity of the fuel, see `combustion.flame_speed`
P_FLAME_PEAK = 28  # greatest value at 298 K and one atmosphere [m/s]
P_FLAME_CURVE = 29  # second-order coefficient of the equivalence ratio [m/s]
P_FLAME_PHI = 30  # equivalence ratio of the greatest value [-]
P_FLAME_T = 31  # exponent of temperature at an equivalence ratio of 1 [-]
P_FLAME_T_SLOPE = 32  # its change with the equivalence ratio
P_FLAME_P = 33  # exponent of pressure at an equivalence ratio of 1
P_FLAME_P_SLOPE = 34
# The parameters' memory of the last burn: 0, but while a cycle is sought that repeats itself
P_MEMORY = 35  # part that the last burn has in delay and duration of the next, geometrically [-]
N_PARAMETER = 36

HEAT_WOSCHNI = 0.0
HEAT_ANNAND = 1.0
HEAT_HOHENBERG = 2.0

# State: contents, both zones together
C_AIR = 0  # [kg]
C_FUEL = 1  # vapour and liquid alike [kg]
C_BURNED = 2  # [kg]
C_ENERGY = 3  # internal energy, datum of the gas array [J]

# State: what the valves see, current after every step
C_P = 4  # [Pa]
C_T = 5  # mass mean [K]
C_R = 6  # [J/(kg K)]
C_GAMMA = 7  # frozen composition [-]
C_H = 8  # enthalpy per mass [J/kg]
C_YB = 9  # burned fraction [-]
C_YF = 10  # fuel fraction [-]
C_MASS = 11  # [kg]
C_VOLUME = 12  # [m3]
C_HEAT_RATE = 13  # to the walls [W]

# State: course of the burn
C_PHASE = 14  # one of PHASE_...
C_BURN_START = 15  # own angle of the Wiebe law's beginning [rad]
C_BURN_LENGTH = 16  # from its beginning to its end [rad]
C_X = 17  # part of the charge that the flame has passed [-]
C_UNBURNED = 18  # mass of the unburned zone [kg]
C_T_UNBURNED = 19  # the same as C_T when there is one zone [K]
C_T_BURNED = 20
C_YB_UNBURNED = 21  # composition of the unburned zone [-]
C_YF_UNBURNED = 22
C_WOSCHNI = 23  # velocity per pressure rise over the motored pressure [m/(s Pa)]
C_MOTORED_P = 24  # pressure and volume at the spark, whence the motored pressure is continued
C_MOTORED_V = 25
C_MOTORED_GAMMA = 26
C_KNOCK = 27  # integral since intake closing [-]
C_KNOCK_RATE = 28  # its slope now [1/s]
C_PEAK = 29  # greatest pressure since intake closing [Pa]
C_PEAK_ANGLE = 30
C_CA10 = 31  # own angles of 10, 50 and 90 % burned of the burn under way [rad]
C_CA50 = 32
C_CA90 = 33
C_SPARK = 34  # spark of the burn under way [rad]
C_KNOCK_END = 35  # own angle at which too little is left unburned to knock [rad]
C_HEAT_BURNED = 36  # wall heat of the burned zone [W]

# State: contents at the last intake closing
C_IVC_AIR = 37
C_IVC_FUEL = 38
C_IVC_BURNED = 39
C_IVC_ENERGY = 40
C_IVC_ANGLE = 41

# State: the last burn that is over, written at exhaust opening
C_LAST_KNOCK = 42
C_LAST_PEAK = 43
C_LAST_PEAK_ANGLE = 44
C_LAST_CA10 = 45
C_LAST_CA50 = 46
C_LAST_CA90 = 47
C_LAST_SPARK = 48
C_EVO_P = 49  # state at that opening
C_EVO_T = 50

# State: memory of the last burn, see P_MEMORY
C_LAST_LENGTH = 51  # of its law [rad]; 0 before any

# State: sums since `reset_cycle`
C_WORK = 52  # of the gas on the piston [J]
C_WORK_GROSS = 53  # the part within half a turn of the firing top dead centre [J]
C_HEAT = 54  # to the walls [J]
C_LEAK_AIR = 55  # past the rings [kg]
C_LEAK_FUEL = 56
C_LEAK_BURNED = 57
C_LEAK_ENERGY = 58  # [J]
C_FUEL_BURNED = 59  # [kg]
N_CYLINDER = 60

PHASE_OPEN = 0.0  # a valve may be open: one zone, no burning
PHASE_CLOSED = 1.0  # intake closed, before the spark
PHASE_LIT = 2.0  # sparked, flame still too small to count
PHASE_BURNING = 3.0  # two zones
PHASE_BURNT = 4.0  # one zone again, until the exhaust opens
