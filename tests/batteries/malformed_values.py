"""Values, words and files that no engine has, drawn by chance: what fingers and programs make."""

from __future__ import annotations

import random
from collections.abc import Callable

UNITS = ("in", "mm", "cc", "cfm", "deg", "kPa", "degC", "psi", "lbf", "%", "")
#: Digits, letters and signs that look like what is meant, cannot be shown, or mean something else.
ODD = (
    "\uff11\uff12",
    "\u0664",
    "\u00bd",
    "\u2212",
    "\x1b[31m",
    "\x85",
    "\x7f",
    "\r",
    "\ufdd0",
    "\u202e",
    "$x_{$",
    "=1+1",
    "@SUM(1)",
    "'",
    '"',
    "\\",
    "\t",
    "\U0001f682",
)

Maker = Callable[[random.Random], str]


def _digits(chance: random.Random) -> str:
    return "9" * chance.choice((20, 400, 4301, 20_000))


def _fraction(chance: random.Random) -> str:
    return chance.choice(
        ("1/0", "1-1/0", "1/3/4", "1e400/3", "1-2-3/4", f"1/{_digits(chance)}", "0/0")
    )


def _special(chance: random.Random) -> str:
    return chance.choice(("nan", "inf", "-inf", "1e308", "-1e308", "1e-320", "1e999", "0", "-0.0"))


def _number(chance: random.Random) -> str:
    return chance.choice((_digits, _fraction, _special))(chance)


def _measure(chance: random.Random) -> str:
    return f"{_number(chance)} {chance.choice(UNITS)}".strip()


def _power(chance: random.Random) -> str:
    unit, power = (
        chance.choice(("in", "kg", "m/s")),
        chance.choice(("99999", "1e9", "-9" * 40, "in", "0")),
    )
    return f"4 {unit}{chance.choice(('^', '**', '*'))}{power}"


def _band(chance: random.Random) -> str:
    return f"4 in +- {_number(chance)} {chance.choice(UNITS)}"


def _reference(chance: random.Random) -> str:
    return " @ ".join(_measure(chance) for _ in range(chance.choice((2, 3, 300))))


def _many(chance: random.Random) -> str:
    word = chance.choice(("4 in ", "a", "1,", "(", "@ ", "1-", " ", "- ", "+-"))
    return word * chance.choice((50, 3000, 100_000))


def _odd(chance: random.Random) -> str:
    return "".join(chance.choice((*ODD, "4", " ", "in", "a")) for _ in range(chance.randint(1, 12)))


def _range(chance: random.Random) -> str:
    numbers = ("2000", "3000", "-1", "0", "", _special(chance), _digits(chance), "a")
    return chance.choice((":", ",", "::", "-")).join(
        chance.choices(numbers, k=chance.randint(1, 4))
    )


def _formula(chance: random.Random) -> str:
    return chance.choice(
        (
            "average torque",
            "overlap <= ",
            "least average ",
            "2 * block.bore + ",
            "torque at ",
            "average torque 2000-",
        )
    ) + _number(chance)


MAKERS: tuple[Maker, ...] = (
    _number,
    _measure,
    _power,
    _band,
    _reference,
    _many,
    _odd,
    _range,
    _formula,
)


def value(chance: random.Random) -> str:
    """A value, as it would be typed."""
    return chance.choice(MAKERS)(chance)


def path(chance: random.Random) -> str:
    """A field that is none, or is one."""
    known = (
        "block.bore",
        "cam.lobe_separation",
        "name",
        "numerics.max_cycles",
        "intake",
        "cam.intake.durations",
        "mixture.lambda",
        "head.intake.sheet.flow",
        "block.n_cylinders",
    )
    deep = ".".join(["a"] * chance.choice((2, 900, 6000)))
    return chance.choice(
        (*known, *known, deep, "", ".", "block..bore", _odd(chance), "block.bore.x")
    )


def toml_value(chance: random.Random) -> str:
    """A value as it would stand in a file."""
    n = chance.choice((50, 900, 20_000))
    plain = value(chance).replace("\\", "").replace('"', "").replace("\r", "").replace("\n", "")
    return chance.choice(
        (
            f'"{plain}"',
            f'"{plain}"',
            f'"{plain}"',
            plain,
            _digits(chance),
            "nan",
            "true",
            "1999-01-01",
            "[" * n + "]" * n,
            "{a = " * n + "1" + "}" * n,
            "[" + "1,\n" * n + "]",
            '"""' + "x\n" * n + '"""',
        )
    )


def damaged(text: str, chance: random.Random) -> bytes:
    """The text of a sound file with something done to it."""
    lines = text.splitlines()
    at = chance.randrange(len(lines))
    way = chance.choice(
        ("value", "value", "value", "key", "cut", "bytes", "odd", "deep", "twice", "long", "wide")
    )
    if way == "value":
        settings = [i for i, line in enumerate(lines) if "=" in line]
        at = chance.choice(settings)
        lines[at] = f"{lines[at].partition('=')[0]}= {toml_value(chance)}"
    elif way == "key":
        lines.insert(at, f"{path(chance) or 'x'} = {toml_value(chance)}")
    elif way == "cut":
        return text.encode()[: chance.randrange(len(text))]
    elif way == "bytes":
        data = bytearray(text.encode())
        for _ in range(chance.choice((1, 5, 200))):
            data[chance.randrange(len(data))] = chance.randrange(256)
        return bytes(data)
    elif way == "odd":
        lines[at] += chance.choice(("\x00", "\ufeff", "\x1b", _odd(chance)))
    elif way == "deep":
        lines.insert(at, "[" + ".".join(["a"] * chance.choice((900, 20_000))) + "]")
    elif way == "twice":
        lines.insert(at, lines[at])
    elif way == "long":
        lines.insert(at, f"# {'x' * 2_000_000}")
    else:
        return chance.choice(("", " ", "\n" * 50_000, text * 40, "\ufeff" + text)).encode(
            chance.choice(("utf-8", "utf-16"))
        )
    return "\n".join(lines).encode("utf-8", "surrogatepass")
