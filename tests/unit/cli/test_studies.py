"""What does a study say while somebody waits on a terminal?"""

import pytest

from enginesim.cli.studies import _fitting

LINE = "4 of 15 points, 4.2 a second, 3 s to go; best so far 33.3 lb-ft"


@pytest.mark.parametrize(
    "width, shown",
    [
        (len(LINE), LINE),
        (len(LINE) - 1, "4 of 15 points, 4.2 a second, 3 s to go"),
        (30, "4 of 15 points, 4.2 a second"),
        (5, "4 of 15 points"),
    ],
)
def test_what_does_not_fit_is_left_out_whole(width: int, shown: str) -> None:
    assert _fitting(LINE, width) == shown
