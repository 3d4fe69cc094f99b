"""Compiled formulas and loops: floats and arrays only, no input or output, no exceptions."""
