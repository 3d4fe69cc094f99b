"""Windows and histograms of engine speed as they are typed, and as they are mistyped."""

from __future__ import annotations

from pathlib import Path

import pytest

from enginesim.base.errors import CaseError
from enginesim.study.usage import Window, weights, window


@pytest.mark.parametrize(
    "text, expected",
    [("2500:5500", (2500.0, 5500.0)), (" 2500 : 5500.5 ", (2500.0, 5500.5))],
)
def test_window(text: str, expected: tuple[float, float]) -> None:
    assert window(text) == Window(*expected)


@pytest.mark.parametrize(
    "text, words",
    [
        ("", "first:last"),
        ("2500", "first:last"),
        ("2500-5500", "first:last"),
        ("2500:5500:250", "first:last"),
        ("-100:5500", "first:last"),
        ("nan:5500", "first:last"),
        ("5500:2500", "did you mean 2500:5500"),
        ("2500:2500", "one speed is no window"),
    ],
)
def test_wrong_window(text: str, words: str) -> None:
    with pytest.raises(CaseError, match="--window: found") as caught:
        window(text)
    assert words in str(caught.value)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "lap.csv"


@pytest.mark.parametrize(
    "text",
    [
        "rpm,time\n2000,3\n3000-4000,6\n6000,1\n",
        "# a lap\n2000; 3\n\n3000 - 4000; 6   # most of it\n6000; 1",
        "2000\t3\n3000-4000\t6\n6000\t1",
        "\ufeffspeed time\r\n2000 3\r\n3000-4000 6\r\n6000 1\r\n",
    ],
)
def test_weights(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
    found = weights(path)
    assert found.bins == ((2000.0, 2000.0, 3.0), (3000.0, 4000.0, 6.0), (6000.0, 6000.0, 1.0))
    assert (found.low, found.high) == (2000.0, 6000.0)


def test_every_wrong_line_is_told(path: Path) -> None:
    path.write_text("rpm,time\n2000,3\nfast,6\n4000\n5000-4000,1\n6000,-1\n", encoding="utf-8")
    with pytest.raises(CaseError) as caught:
        weights(path)
    places = [problem.place for problem in caught.value.problems]
    assert places == [f"{path}:{n}" for n in (3, 4, 5, 6)]
    assert "last speed above the first" in str(caught.value)


@pytest.mark.parametrize(
    "text, words",
    [
        ("", "no line of figures"),
        ("rpm,time\n", "no line of figures"),
        ("2000,0\n3000,0\n", "no time at any speed"),
        ("2000-3000,1\n2500-3500,2\n", "2000-3000 and 2500-3500 rpm"),
        ("2000,1\n2000,2\n", "2000 and 2000 rpm"),
    ],
)
def test_wrong_files(path: Path, text: str, words: str) -> None:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CaseError, match=words):
        weights(path)


def test_neighbouring_bins_may_touch(path: Path) -> None:
    path.write_text("2000-3000,1\n3000-4000,2\n", encoding="utf-8")
    assert len(weights(path).bins) == 2


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="no file"):
        weights(tmp_path / "none.csv")
    with pytest.raises(CaseError, match="a folder"):
        weights(tmp_path)


def test_no_text(path: Path) -> None:
    path.write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(CaseError, match="no UTF-8 text"):
        weights(path)
    path.write_bytes(b"2000,1\n" * 200_000)
    with pytest.raises(CaseError, match="larger than"):
        weights(path)
