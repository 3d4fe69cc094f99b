"""A case as ducts, volumes and links, and as the arrays that the kernels march."""

from enginesim.network.engine import build

__all__ = ["build"]
