"""Errors, names, units, constants and provenance: what every other room may use."""
