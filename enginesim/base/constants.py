"""Physical constants and reference states; plain floats, SI."""

from __future__ import annotations

from typing import Final

#: Molar gas constant [J/(mol K)]; exact since the SI of 2019.
R_UNIVERSAL: Final = 8.31446261815324
#: Standard gravity [m/s2]; exact (General Conference on Weights and Measures, 1901).
G_STANDARD: Final = 9.80665
#: Reference temperature of the enthalpy datum [K].
T_REF: Final = 298.15
#: One standard atmosphere [Pa].
P_REF: Final = 101325.0
#: Ice point [K].
T_ICE: Final = 273.15
#: Crank radians in one four-stroke cycle [rad].
CYCLE_ANGLE: Final = 12.566370614359172
#: Specific gas constant of dry air [J/(kg K)]; R_UNIVERSAL over 28.9647 g/mol.
R_DRY_AIR: Final = 287.0550
#: Reference air of SAE J1349: dry pressure [Pa] and temperature [K] (77 F, 29.23 inHg).
P_J1349: Final = 99.0e3
T_J1349: Final = 298.15
