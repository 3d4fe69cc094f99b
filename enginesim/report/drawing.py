"""How does every chart look, and how is it kept?

White ground, thin grey grid, colours that survive colour-blind eyes (the palette of Okabe and
Ito) and never colour alone. Figures are objects of their own: nothing of matplotlib's global
state is set, so a program that draws charts of its own is not disturbed.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

import matplotlib as mpl
from matplotlib.figure import Figure
from matplotlib.patheffects import withStroke

from enginesim.report.files import write

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matplotlib.axes import Axes

BLUE: Final = "#0072B2"
VERMILLION: Final = "#D55E00"
GREEN: Final = "#009E73"
PURPLE: Final = "#CC79A7"
ORANGE: Final = "#E69F00"
SKY: Final = "#56B4E9"
BROWN: Final = "#7A4A2B"
GREY: Final = "#595959"
FAINT: Final = "#D9D9D9"
#: Keeps words readable that lie on a line: `path_effects` of a text.
HALO: Final = [withStroke(linewidth=2.5, foreground="white")]

_STYLE: Final = {
    "font.family": "DejaVu Sans",  # comes with matplotlib: the same on every machine
    "font.size": 10.0,
    "svg.hashsalt": "enginesim",  # the same figure gives the same file
    "svg.fonttype": "path",
    "axes.unicode_minus": True,
    "text.parse_math": False,  # a name may hold dollar signs; no chart of ours has a formula
}
_RESOLUTION: Final = 130


@contextmanager
def literal() -> Iterator[None]:
    """
    Have every text of a figure that is made meanwhile drawn as it is written; for a decorator too.

    Yields
    ------
    None
        Once. Figures that are made outside take ``$...$`` for a formula.
    """
    with mpl.rc_context({"text.parse_math": False}):
        yield


def sheet(width: float, height: float) -> Figure:
    """
    Empty white figure.

    Parameters
    ----------
    width : float
        Width. [in]
    height : float
        Height. [in]

    Returns
    -------
    Figure
        To be drawn on.
    """
    return Figure(figsize=(width, height), facecolor="white")


def tidy(axes: Axes) -> None:
    """
    Give axes the common look.

    Parameters
    ----------
    axes : Axes
        To be changed.
    """
    axes.grid(visible=True, color=FAINT, linewidth=0.7)
    axes.set_axisbelow(True)
    axes.tick_params(color=GREY, labelsize=9)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(GREY)


def head(figure: Figure, title: str, below: str) -> None:
    """
    Title at the upper left, and a line under it.

    Parameters
    ----------
    figure : Figure
        To be changed.
    title : str
        Name of what is shown.
    below : str
        What kind of figures they are.
    """
    height = figure.get_figheight()
    figure.text(0.02, 1 - 0.12 / height, title, size=14, weight="bold", va="top", ha="left")
    figure.text(0.02, 1 - 0.42 / height, below, size=10, color=GREY, va="top", ha="left")


def foot(figure: Figure, lines: Sequence[str]) -> None:
    """
    Small print at the lower left.

    Parameters
    ----------
    figure : Figure
        To be changed.
    lines : sequence of str
        One to a row.
    """
    text = "\n".join(lines)
    figure.text(
        0.02, 0.08 / figure.get_figheight(), text, size=8, color=GREY, va="bottom", linespacing=1.4
    )


def foot_height(lines: Sequence[str]) -> float:
    """
    Room that the small print takes.

    Parameters
    ----------
    lines : sequence of str
        One to a row.

    Returns
    -------
    float
        Height, margin included. [in]
    """
    return 0.16 + 0.157 * len(lines)


def save(figure: Figure, stem: Path) -> tuple[Path, ...]:
    """
    Keep a figure as PNG and as SVG, each whole or not at all.

    Parameters
    ----------
    figure : Figure
        What was drawn.
    stem : Path
        Where to, without the ending.

    Returns
    -------
    tuple of Path
        The two files.
    """
    paths = tuple(stem.with_name(f"{stem.name}.{kind}") for kind in ("png", "svg"))
    for path in paths:
        keep(figure, path)
    return paths


# What a file would otherwise say of the moment and the program that made it.
_STAMPS: Final = {
    "png": {"Software": None},
    "svg": {"Date": None},
}

# A third of the time for files that are a twentieth larger.
_PACKING: Final[dict[str, dict[str, Any]]] = {
    "png": {"pil_kwargs": {"compress_level": 3}},
    "svg": {},
}


def keep(figure: Figure, path: Path) -> None:
    """
    Keep a figure in one file, whole or not at all.

    Parameters
    ----------
    figure : Figure
        What was drawn.
    path : Path
        Where to; the ending says the kind.

    Raises
    ------
    OSError
        If the place cannot be written.
    """
    write(path, _content(figure, path.suffix[1:]))


def svg(figure: Figure) -> str:
    """
    A figure to be put on a page.

    Parameters
    ----------
    figure : Figure
        What was drawn.

    Returns
    -------
    str
        SVG; letters are outlines, so that no font is looked for.
    """
    return _content(figure, "svg").decode()


def _content(figure: Figure, kind: str) -> bytes:
    out = io.BytesIO()
    with mpl.rc_context(_STYLE):  # type: ignore[arg-type]
        figure.savefig(out, format=kind, dpi=_RESOLUTION, metadata=_STAMPS[kind], **_PACKING[kind])
    return out.getvalue()
