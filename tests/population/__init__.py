"""A population of random engines, drawn from a seed, and what comes of each at three speeds."""
