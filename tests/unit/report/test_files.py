"""Files: keys, numbers, and never half a file."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from math import nan
from pathlib import Path

import pytest

from enginesim.base.provenance import Provenance
from enginesim.case import loads
from enginesim.performance import Curve
from enginesim.report import files
from tests.records import case


def test_document_is_json(curve: Curve, provenance: Provenance) -> None:
    made = json.loads(files.json_text(files.document(case(), curve, provenance)))
    assert set(made) == {"case", "provenance", "complete", "assumed", "speeds", "stored"}
    assert made["case"]["name"] == "Invented four"
    assert made["provenance"]["case_digest"] == case().digest
    assert loads(made["case"]["toml"]).digest == case().digest
    assert [a["path"] for a in made["assumed"]] == [a.path for a in case().assumed]
    assert made["complete"] is True
    point = curve.points[3]
    found = made["speeds"][3]
    assert found["rpm"] == 3500
    assert found["torque_Nm"] == point.torque
    assert found["power_kW"] == pytest.approx(point.power / 1e3, rel=1e-15)
    assert found["bsfc_g_kWh"] == pytest.approx(point.bsfc * 3.6e9, rel=1e-14)
    assert found["p_max_bar"] == pytest.approx(point.p_max / 1e5, rel=1e-15)
    assert [speed["converged"] for speed in made["speeds"]].count(False) == 1


def test_what_is_no_number_is_null(curve: Curve, provenance: Provenance) -> None:
    bare = Curve([replace(curve.points[0], ve_plenum=nan, bsfc=float("inf"))])
    found = json.loads(files.json_text(files.document(case(), bare, provenance)))["speeds"][0]
    assert found["ve_plenum"] is None
    assert found["bsfc_g_kWh"] is None
    assert next(csv.DictReader(io.StringIO(files.csv_text(bare))))["ve_plenum"] == ""


def test_csv_has_a_line_for_each_speed(curve: Curve) -> None:
    rows = list(csv.DictReader(io.StringIO(files.csv_text(curve))))
    assert [float(row["rpm"]) for row in rows] == list(curve["rpm"])
    assert float(rows[2]["torque_Nm"]) == curve.points[2].torque


def test_file_is_written_whole_or_not_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "deep" / "result.json"
    files.write(path, "old\n")
    assert path.read_bytes() == b"old\n"

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("enginesim.base.replacement.os.fsync", full)
    with pytest.raises(OSError, match="No space left"):
        files.write(path, "new\n")
    assert path.read_bytes() == b"old\n"
    assert [p.name for p in path.parent.iterdir()] == ["result.json"]
