"""Does mixing end a linear iteration, speed up a nonlinear one, and know when it has failed?"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from enginesim.cycle.mixing import Mixing

Array = np.ndarray


def ended(g: Callable[[Array], Array], x: Array, most: int, enough: float) -> int:
    """Evaluations until the residual is small, each iterate mixed from those before."""
    mixing: Mixing[Array] = Mixing()
    for count in range(1, most + 1):
        image = g(x)
        if np.linalg.norm(image - x) < enough:
            return count
        mixing.add(image - x, image)
        factors = mixing.factors()
        steps = mixing.steps[len(mixing.steps) - len(factors) :]
        x = image + sum(
            (f * (s.second - s.first) for f, s in zip(factors, steps, strict=True)),
            np.zeros_like(image),
        )
    return most + 1


def turned(spectrum: list[float]) -> tuple[Array, Array]:
    """A full matrix of that spectrum, and the point that its map leaves where it is."""
    n = len(spectrum)
    vectors = np.linalg.qr(np.random.default_rng(5).normal(size=(n, n)))[0]
    return vectors @ np.diag(spectrum) @ vectors.T, np.arange(1.0, n + 1.0)


@pytest.mark.parametrize(
    "spectrum",
    [[0.95], [0.98, 0.5, 0.1], [0.99, 0.9, -0.8, 0.3, 0.0], [0.97, -1.6, 0.4]],
    ids=["one", "three", "five", "one that plain cycles would leave"],
)
def test_a_linear_map_ends_after_one_more_evaluation_than_it_has_directions(
    spectrum: list[float],
) -> None:
    """Its n + 1 iterates give n steps, which solve it; the next evaluation sees that."""
    matrix, end = turned(spectrum)
    count = ended(lambda x: end + matrix @ (x - end), np.zeros(len(spectrum)), 20, 1e-9)
    assert count <= len(spectrum) + 2


def test_a_contraction_that_bends_needs_fewer_than_its_plain_iteration() -> None:
    """A slow way to x = cos(k x): its plain iteration takes some sixty evaluations."""
    weights = np.array([1.1, 0.9, 0.4, 0.6])

    def g(x: Array) -> Array:
        return 0.85 * x + 0.15 * np.cos(weights * x) + 0.02 * np.roll(x, 1) ** 2

    x, plain = np.zeros(4), 0
    while np.linalg.norm(g(x) - x) >= 1e-8:
        x, plain = g(x), plain + 1
    assert ended(g, np.zeros(4), 100, 1e-8) < 0.5 * plain


def test_one_step_is_the_geometric_series() -> None:
    """Changes of ratio r: what is left is r/(1 - r) of the last."""
    mixing: Mixing[float] = Mixing()
    for k, output in enumerate((3.0, 2.0, 1.5)):
        mixing.add(np.array([0.5**k]), 0.0, output)
    assert mixing.output_ahead(mixing.factors()[-1:]) == pytest.approx(-0.5, rel=1e-12)


def test_nothing_is_said_before_there_are_two() -> None:
    mixing: Mixing[float] = Mixing()
    assert len(mixing.factors()) == 0
    mixing.add(np.array([1.0, 2.0]), 0.0)
    assert len(mixing.factors()) == 0
    assert np.isnan(mixing.output_ahead(mixing.factors()))


def test_what_stands_still_is_no_step() -> None:
    mixing: Mixing[float] = Mixing()
    for residual in (1.0, 0.5, 0.5, 0.25):
        mixing.add(np.array([residual]), 0.0)
    assert len(mixing.factors()) == 1
    assert np.all(np.isfinite(mixing.factors()))


def test_a_residual_that_grows_much_or_is_no_number_is_worse() -> None:
    mixing: Mixing[float] = Mixing()
    assert not mixing.is_worse(np.array([np.nan]))  # nothing to go back to
    mixing.add(np.array([1.0, 0.0]), 0.0)
    assert not mixing.is_worse(np.array([0.0, 3.9]))
    assert mixing.is_worse(np.array([0.0, 4.1]))
    assert mixing.is_worse(np.array([np.nan, 0.0]))


def test_steps_are_kept_to_a_number_and_forgotten_by_halves() -> None:
    mixing: Mixing[float] = Mixing(depth=3)
    for k in range(6):
        mixing.add(np.array([0.5**k, 0.1 * k]), float(k))
    assert [step.second for step in mixing.steps] == [3.0, 4.0, 5.0]
    mixing.forget()
    assert [step.second for step in mixing.steps] == [5.0]


def test_steps_go_on_in_another_form_from_another_iterate() -> None:
    mixing: Mixing[float] = Mixing()
    mixing.add(np.array([1.0]), 2.0, 10.0)
    mixing.add(np.array([0.5]), 3.0, 6.0)
    other = mixing.carried(lambda image: 100.0 * image)
    assert len(other.factors()) == 0
    other.add(np.array([0.2]), 500.0, 5.0)
    (step,) = other.steps
    assert (step.first, step.second, step.output) == (200.0, 300.0, -4.0)
    # The residual falls by 0.5 a step: 0.4 of a step more ends it.
    assert other.factors() == pytest.approx([0.4], rel=1e-12)
