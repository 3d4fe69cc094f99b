"""
Exact solutions that the program is compared with; written without a line of the program.

Perfect gas throughout. Every function takes its ratio of specific heats and its states as
arguments, so that none of them can agree with the program by sharing a constant with it.
"""
