"""Do tables and sentences fit a narrow terminal with every word and number whole?"""

import re
import subprocess
import sys

import pytest

from enginesim.cli.columns import GAP, Column, arranged, column, naming
from tests.unit.cli.terminal import ROOT, on_terminal

MINIMAL = ROOT / "tests" / "cases" / "minimal.toml"
WIDTHS = (60, 80, 100, 120)

FIGURES = """
from enginesim.cli.screen import show_figures
from enginesim.report.table import Table
heads = ("speed", "average torque", "power", "knock", *(f"mean {i}" for i in range(9)))
units = ("rpm", "lb-ft", "hp", "deg", *(["g/kWh"] * 9))
rows = [(f"{rpm}", *(f"{rpm / 100 + i / 7:.2f}" for i in range(12))) for rpm in (2000, 3500)]
show_figures(Table("Output", heads, units, tuple(rows)))
"""
WORDS = """
from enginesim.cli.screen import show_lines, show_list, show_table
path = "cam.intake.rocker_ratio = 1.6"
heads = ("field", f"B: {path}", "1 sigma", "source")
rows = [(f"exhaust.primary_diameter[{i}]", "1.625 in", "0.010 in", "trade press, from memory, " * 3)
        for i in range(2)]
show_table("Assumed", heads, rows)
show_list("Why", ["Below 3,690 rpm it loses 0.7 lb-ft between 2000-3500 rpm with " + path] * 2)
show_lines(["Books close to 1e-15 of the air and 1e-15 of heat; imbalance up to 5e-05, " + path])
"""


def on_paper(arguments: list[str]) -> str:
    """The same, not on a terminal."""
    return subprocess.run(
        [sys.executable, *arguments], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout


def words(text: str) -> set[str]:
    return {word for word in text.split() if set(word) - set("-─")}


class TestOnATerminal:
    @pytest.mark.parametrize("width", WIDTHS)
    @pytest.mark.parametrize("program", [FIGURES, WORDS], ids=["figures", "words"])
    def test_nothing_is_broken_in_two(self, program: str, width: int) -> None:
        shown = on_terminal(["-c", program], width)
        assert max(map(len, shown.splitlines())) <= width
        assert words(on_paper(["-c", program])) <= words(shown)

    @pytest.mark.parametrize("width", [60, 80])
    def test_check(self, width: int) -> None:
        arguments = ["-m", "enginesim.cli.main", "check", str(MINIMAL.relative_to(ROOT))]
        shown = on_terminal(arguments, width)
        assert max(map(len, shown.splitlines())) <= width
        assert words(on_paper(arguments)) <= words(shown)

    def test_a_wide_table_goes_on_below_with_its_first_column(self) -> None:
        shown = on_terminal(["-c", FIGURES], 60)
        parts = shown.strip().split("\n\n")
        assert len(parts) > 1
        assert [part.splitlines()[0] for part in parts[:2]] == ["Output", "Output, continued"]
        for part in parts:
            assert re.search(r"^ *speed\b", part, re.MULTILINE)
            assert [row.split()[0] for row in part.splitlines()[-2:]] == ["2000", "3500"]

    def test_a_table_that_fits_is_one(self) -> None:
        assert "continued" not in on_terminal(["-c", FIGURES], 120)


class TestColumns:
    def test_a_number_is_never_wrapped(self) -> None:
        assert column("gain", "", ("+1.9 @ 5000",), is_numeric=True) == Column(11, 11)
        assert column("gain", "", ("+1.9 @ 5000",), is_numeric=False) == Column(4, 11)

    @pytest.mark.parametrize("room", range(20, 90, 7))
    def test_every_column_once_and_the_first_in_all(self, room: int) -> None:
        columns = [Column(4, 4), Column(5, 30), *([Column(6, 9)] * 7)]
        tables = arranged(columns, room)
        assert [i for table in tables for i in table if i] == list(range(1, 9))
        for table in tables:
            assert min(table) == 0
            assert sum(table.values()) + GAP * (len(table) - 1) <= room
            assert all(columns[i].least <= width <= columns[i].most for i, width in table.items())

    def test_what_fits_is_not_wrapped(self) -> None:
        assert arranged([Column(4, 10), Column(5, 40)], 52) == ({0: 10, 1: 40},)

    def test_a_word_wider_than_the_screen_is_all_that_is_broken(self) -> None:
        assert arranged([Column(4, 4), Column(50, 50)], 30) == ({0: 4, 1: 24},)

    def test_columns_that_name_the_rows_are_in_all(self) -> None:
        rows = [("110", "3 L", "325"), ("110", "4 L", "325"), ("112", "3 L", "323")]
        assert naming(rows) == 2
        assert naming([("2000", "282"), ("3000", "317")]) == 1
        assert naming([("2000", "282"), ("2000", "282")]) == naming([]) == 1
        columns = [Column(3, 3), Column(3, 3), *([Column(20, 20)] * 3)]
        assert [[*table] for table in arranged(columns, 40, 2)] == [[0, 1, 2], [0, 1, 3], [0, 1, 4]]
        # Where they leave too little room for others, the first has to do.
        assert [[*table] for table in arranged(columns, 14, 2)][1:] == [[0, 2], [0, 3], [0, 4]]
