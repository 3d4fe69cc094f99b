"""Does every public function say what each number is, in which unit, and where it is from?"""

from __future__ import annotations

import ast
import re
import textwrap
from functools import cache

import pytest
from numpydoc.docscrape import NumpyDocString

from tests.meta.tree import PACKAGE, Function, parsed, public_functions, python_files, room
from tests.meta.units import EDGES, SI, TRADE, bracketed, is_unit

# Rooms made of formulas: each says where they come from.
SOURCED = ("formulas", "kernels", "gas", "performance", "valvetrain")
# A docstring here is what the screen shows a user; click lists the options itself.
SPOKEN = "cli"
# Compilers and libraries call these by their signature; nobody else does.
CALLED_BY_LIBRARY = {"field_validator", "model_validator", "field_serializer", "intrinsic"}
CALLED_BY_LIBRARY |= {"overload", "setter"}

# A whole number counts or names something; it needs no unit.
_NUMERIC = re.compile(r"\b(float|complex|\w*NDArray|ndarray|\w*Floats?|\w*Array|Samples)\b")
_NOT_NUMERIC = re.compile(r"\b(Callable|Literal|type)\b")


@cache
def functions() -> tuple[Function, ...]:
    return tuple(
        f
        for f in public_functions()
        if room(f.path) != SPOKEN and not f.decorators & CALLED_BY_LIBRARY
    )


def documented(function: Function) -> NumpyDocString:
    return NumpyDocString(textwrap.dedent(ast.get_docstring(function.node) or ""))


def is_numeric(annotation: str) -> bool:
    return bool(_NUMERIC.search(annotation)) and not _NOT_NUMERIC.search(annotation)


def parameters(doc: NumpyDocString) -> dict[str, str]:
    """Each documented name, starred ones without their stars, and its description."""
    found = {}
    for entry in (*doc["Parameters"], *doc["Other Parameters"]):
        for name in entry.name.split(","):
            found[name.strip().lstrip("*")] = " ".join(entry.desc)
    return found


def known_units(function: Function) -> frozenset[str]:
    return SI | TRADE if room(function.path) in EDGES else SI


def places(faulty: list[str]) -> str:
    return "\n" + "\n".join(faulty)


def test_there_is_something_to_read() -> None:
    assert len(functions()) > 50


def test_every_function_has_a_docstring() -> None:
    faulty = [f.place for f in functions() if not ast.get_docstring(f.node)]
    assert not faulty, places(faulty)


def test_every_parameter_is_documented_and_no_other() -> None:
    faulty = []
    for f in functions():
        said = set(parameters(documented(f)))
        if said != set(f.arguments):
            missing, extra = set(f.arguments) - said, said - set(f.arguments)
            faulty.append(f"{f.place}: missing {sorted(missing)}, unknown {sorted(extra)}")
    assert not faulty, places(faulty)


def test_every_number_has_a_unit() -> None:
    faulty = []
    for f in functions():
        said = parameters(documented(f))
        for name, annotation in f.arguments.items():
            if is_numeric(annotation) and name in said and not bracketed(said[name]):
                faulty.append(f"{f.place}: {name}")
    assert not faulty, places(faulty)


def test_every_number_given_back_has_a_unit() -> None:
    faulty = []
    for f in functions():
        if not is_numeric(f.returns):
            continue
        doc = documented(f)
        told = [" ".join(e.desc) for e in (*doc["Returns"], *doc["Yields"])]
        if f.decorators & {"property", "cached_property"}:
            told = [ast.get_docstring(f.node) or ""]
        if not any(bracketed(text) for text in told):
            faulty.append(f.place)
    assert not faulty, places(faulty)


def test_every_unit_is_known() -> None:
    faulty = []
    for f in functions():
        doc = documented(f)
        texts = [*parameters(doc).values(), *(" ".join(e.desc) for e in doc["Returns"])]
        shown = (unit for text in texts for unit in bracketed(text))
        faulty += [f"{f.place}: [{u}]" for u in shown if not is_unit(u, known_units(f))]
    assert not faulty, places(faulty)


def test_every_error_raised_is_documented() -> None:
    faulty = []
    for f in functions():
        if f.decorators & {"property", "cached_property"}:
            continue
        raised = {n for n in map(_raised, ast.walk(f.node)) if n}
        missing = raised - {e.type or e.name for e in documented(f)["Raises"]}
        if missing:
            faulty.append(f"{f.place}: {sorted(missing)}")
    assert not faulty, places(faulty)


def _raised(node: ast.AST) -> str | None:
    if not isinstance(node, ast.Raise) or not isinstance(node.exc, ast.Call):
        return None
    name = ast.unparse(node.exc.func).rpartition(".")[2]
    return name if name.endswith("Error") else None


def test_every_formula_names_its_source() -> None:
    """In the function's docstring, or once for the file in the module's."""
    faulty = []
    for f in functions():
        if room(f.path) not in SOURCED or f.path.name == "__init__.py":
            continue
        told = f"{ast.get_docstring(parsed(f.path))}\n{ast.get_docstring(f.node)}"
        if not re.search(r"\bSources?:", told):
            faulty.append(f.place)
    assert not faulty, places(faulty)


def test_every_module_says_what_it_answers() -> None:
    faulty = [str(p) for p in python_files(PACKAGE) if not ast.get_docstring(parsed(p))]
    assert not faulty, places(faulty)


@pytest.mark.parametrize(
    "text, verdict",
    [
        ("Pa", True),
        ("m2", True),
        ("J/(kg K)", True),
        ("W/(m2 K)", True),
        ("1/s", True),
        ("kg/s", True),
        ("-", True),
        ("J/kg K", False),
        ("mm", False),
        ("parsec", False),
        ("", False),
        ("kg/", False),
        ("J/(kg K", False),
    ],
)
def test_units_are_told_from_words(text: str, verdict: bool) -> None:
    assert is_unit(text, SI) is verdict


def test_citations_and_intervals_are_not_units() -> None:
    text = "Fraction in [0, 1], see [1]_ and ``x[i]``; pressure [Pa] or [K]."
    assert bracketed(text) == ["Pa", "K"]
