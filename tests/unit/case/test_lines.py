"""Which line of a TOML text a key stands on."""

from __future__ import annotations

from enginesim.case.lines import key_lines

TEXT = '''\
name = "a [block] = #"   # [cam]
notes = """
[not.a.table]
bore = 3
"""
head.intake.n_valves = 2
firing = [
    1, 2,  # bore = 4
    3,
]

[block]
"bore" = "4 in"
stroke='3 in'
inline = { first = "x = 1", second = [1, 2] }

  [ cam . intake ]
  durations = [
    "214 @ 0.050 in",
    "280 @ 0.006 in",
  ]
  valve_lift = "0.45 in"
'''


def test_lines() -> None:
    assert key_lines(TEXT) == {
        "name": 1,
        "notes": 2,
        "head.intake.n_valves": 6,
        "firing": 7,
        "block": 12,
        "block.bore": 13,
        "block.stroke": 14,
        "block.inline": 15,
        "block.inline.first": 15,
        "block.inline.second": 15,
        "cam.intake": 17,
        "cam.intake.durations": 18,
        "cam.intake.valve_lift": 22,
    }


def test_a_text_that_is_no_toml_does_no_harm() -> None:
    assert key_lines("[[[\n= 3\n\"'''\n") == {}
