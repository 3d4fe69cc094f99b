"""Evidence: how far do predictions agree with what is known from elsewhere?

Each folder here is one check against a published value, an exact solution or an independent
program. A check may fall short; it is published all the same. ``python -m validation`` runs them
and writes `README.md`, which nobody edits by hand.
"""
