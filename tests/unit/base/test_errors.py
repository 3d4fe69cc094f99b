"""How a problem reads, and what an error carries."""

from __future__ import annotations

import pickle

import pytest

from enginesim.base.errors import CaseError, EngineSimError, Problem, ResultError


def test_a_problem_reads_as_one_sentence() -> None:
    problem = Problem("a.toml:3", "block.bore", "40.3 in", "20 mm to 300 mm", "did you mean 4.03?")
    assert str(problem) == (
        "a.toml:3: block.bore: found 40.3 in; allowed 20 mm to 300 mm (did you mean 4.03?)"
    )
    assert str(Problem("", "", "nothing")) == "found nothing"


def test_an_error_holds_all_problems() -> None:
    problems = [Problem("a", "b", "c"), Problem("d", "e", "f")]
    error = CaseError(problems)
    assert error.problems == tuple(problems)
    assert str(error).count("\n") == 1
    assert isinstance(error, ValueError)
    assert isinstance(error, EngineSimError)


def test_an_error_comes_back_from_another_process() -> None:
    error = pickle.loads(pickle.dumps(CaseError([Problem("a", "b", "c")])))
    assert error.problems == (Problem("a", "b", "c"),)


def test_a_missing_result_reads_without_quotes() -> None:
    with pytest.raises(KeyError):
        raise ResultError("no channel x")
    assert str(ResultError("no channel x")) == "no channel x"
