"""
How long is a test willing to wait for what must happen?

A guard against what never ends, for every test that waits on a process; no test asserts how long
anything takes. The slowest of them take seconds; a machine with ten times as much to do as it can,
whose kernels are not compiled yet, takes minutes.
"""

PATIENCE = 900.0  # [s]
