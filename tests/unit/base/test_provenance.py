"""Digest and stamp."""

from __future__ import annotations

from datetime import datetime

import pytest

import enginesim
from enginesim.base import constants
from enginesim.base.provenance import PHYSICS_VERSION, digest, stamp


def test_digest_does_not_see_the_order_but_every_bit() -> None:
    assert digest({"a": 1.0, "b": [1, 2]}) == digest({"b": [1, 2], "a": 1.0})
    assert digest({"a": 1.0}) != digest({"a": 1.0000000000000002})


def test_digest_refuses_what_is_no_number() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        digest({"a": float("nan")})


def test_stamp() -> None:
    made = stamp("abc")
    assert made.version == enginesim.__version__
    assert made.physics_version == PHYSICS_VERSION
    assert datetime.fromisoformat(made.date).utcoffset() is not None
    assert made.as_dict()["case_digest"] == "abc"


def test_gas_constant_of_dry_air() -> None:
    # Molar mass of dry air 28.9647 g/mol: ISO 2533 (28.964420), from memory; 1 in 1e5.
    assert pytest.approx(constants.R_UNIVERSAL / 28.9647e-3, rel=1e-5) == constants.R_DRY_AIR
