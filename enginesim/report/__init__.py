"""Tables, files and figures: the only conversion of units on the way out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from enginesim.report.figures import save_figures

__all__ = ["save_figures"]


def __getattr__(name: str) -> Any:
    # On demand: a table must not wait for matplotlib.
    if name in __all__:
        from enginesim.report import figures

        return getattr(figures, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
