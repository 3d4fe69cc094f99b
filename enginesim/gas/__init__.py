"""Fuels, air and burned gas: from a name and a mixture to the numbers that the kernels read."""

from __future__ import annotations

from enginesim.base.humidity import humidity_ratio
from enginesim.gas.evaluation import dissociation, energy, gas_constant, heat_capacity
from enginesim.gas.fuels import FUELS, Fuel
from enginesim.gas.mixture import stoichiometric_ratio
from enginesim.gas.tables import GasTables, tables

__all__ = [
    "FUELS",
    "Fuel",
    "GasTables",
    "dissociation",
    "energy",
    "gas_constant",
    "heat_capacity",
    "humidity_ratio",
    "stoichiometric_ratio",
    "tables",
]
