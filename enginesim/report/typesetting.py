"""How do words, tables and charts become a page of paper?

A page is a template of the typesetter beside this module, figures and texts as data, and charts as
SVG. Texts never become part of the template's source: what a user calls an engine is printed as it
is written. Letters are matplotlib's own, so that a page looks the same on every machine.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from enginesim.report.files import write

if TYPE_CHECKING:
    from typst import Fonts

    from enginesim.report.units import System

#: Paper of each system of units: its name, width and height. [in]
PAPERS: Final[dict[System, tuple[str, float, float]]] = {
    "us": ("letter", 8.5, 11.0),
    "si": ("A4", 210 / 25.4, 297 / 25.4),
}
#: Left and right margin of every page. [in]
MARGIN: Final = 0.6
_FOLDER: Final = Path(__file__).parent
_RESOLUTION: Final = 144.0  # of a page as PNG [dots per inch]
_BEGINNING: Final = 0  # the time that a PDF is stamped with: the same page gives the same file


@dataclass(frozen=True, slots=True)
class PrintedPage:
    """
    A page ready to be set.

    Attributes
    ----------
    template : str
        File of the typesetter in this folder, without its ending.
    data : mapping of str to object
        Texts and figures, as for JSON.
    charts : mapping of str to str
        SVG of each chart.
    system : {"us", "si"}
        Letter paper or A4.
    """

    template: str
    data: Mapping[str, Any]
    charts: Mapping[str, str] = field(default_factory=dict)
    system: System = "us"

    def content(self, kind: str) -> bytes:
        """
        The page as a file.

        Parameters
        ----------
        kind : {"pdf", "png"}
            Ending of the file.

        Returns
        -------
        bytes
            What does not fit on one sheet is on a second one in a PDF, and further down in a PNG.
        """
        import typst

        def made(**more: str) -> Any:
            return typst.compile(
                self._file,
                font_paths=_fonts(),
                ignore_system_fonts=True,
                format="pdf" if kind == "pdf" else "png",
                ppi=_RESOLUTION,
                sys_inputs=self._inputs | more,
                timestamp=_BEGINNING,
            )

        sheets = made()
        if isinstance(sheets, list):
            sheets = made(is_endless="true")
        return bytes(sheets)

    def keep(self, path: Path) -> None:
        """
        Keep the page in one file, whole or not at all.

        Parameters
        ----------
        path : Path
            Where to; the ending says the kind, PDF or PNG.

        Raises
        ------
        OSError
            If the place cannot be written.
        """
        write(path, self.content(path.suffix[1:]))

    def told(self, label: str) -> Any:
        """
        What the template says of itself, such as how large the letters may be.

        Parameters
        ----------
        label : str
            Of the only such value in the template.

        Returns
        -------
        object
            From JSON.
        """
        import typst

        text = typst.query(
            self._file,
            f"<{label}>",
            field="value",
            one=True,
            font_paths=_fonts(),
            ignore_system_fonts=True,
            sys_inputs=self._inputs,
        )
        return json.loads(text)

    @property
    def _file(self) -> Path:
        return _FOLDER / f"{self.template}.typ"

    @property
    def _inputs(self) -> dict[str, str]:
        _, width, height = PAPERS[self.system]
        paper = {"width": width, "height": height, "margin": MARGIN}
        text = json.dumps({**self.data, "paper": paper}, ensure_ascii=False)
        # A name from a command line may hold half of a character.
        return {**self.charts, "data": text.encode("utf-8", "replace").decode()}


def chart_width(system: System) -> float:
    """
    Width between the margins.

    Parameters
    ----------
    system : {"us", "si"}
        Letter paper or A4.

    Returns
    -------
    float
        Width. [in]
    """
    return PAPERS[system][1] - 2 * MARGIN


@cache
def _fonts() -> Fonts:
    import matplotlib as mpl
    import typst

    letters = Path(mpl.get_data_path()) / "fonts" / "ttf"
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[letters]
    )
