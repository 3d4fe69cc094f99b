"""From points of a study to trials: checked by the case alone, then run, then judged."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from enginesim.base.errors import CaseError, ResultError
from enginesim.case import amend
from enginesim.performance.knocking import caution
from enginesim.performance.quoting import is_quotable
from enginesim.study import recollection
from enginesim.study.case_numbers import case_number
from enginesim.study.checks import changes_of
from enginesim.study.fields import known_fields
from enginesim.study.plan import Point, changes, part_place
from enginesim.study.store_rows import Failure
from enginesim.study.trials import Status, Trial

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.performance import Performance
    from enginesim.study.measures import Measure
    from enginesim.study.reading import Plan
    from enginesim.study.recollection import Found
    from enginesim.study.store import Store

#: Gets what came of a case at one speed.
Done: TypeAlias = Callable[["Case", "Performance | Failure"], None]
#: Has many points run: cases and speeds, how many they are, and who is told.
Runner: TypeAlias = Callable[[Iterable[tuple["Case", float]], int, Done], None]

_ALWAYS: Final = ("torque", "power", "knock_margin")  # for the curves of the best, and to warn
_MANY = 500  # points that have one note together besides their own
_KEPT = 64  # cases held ready between checking and running


@dataclass(slots=True)
class _Engine:
    """One point on its way to a trial."""

    point: Point
    digests: dict[str, str] = field(default_factory=dict)  # by condition, "" the engine itself
    numbers: dict[str, float] = field(default_factory=dict)  # of the case alone
    problem: str = ""
    warnings: tuple[str, ...] = ()
    has_fixed_spark: bool = False
    lacking: int = 0  # results still to come

    def take(self, note: dict[str, Any]) -> None:
        """Fill in what a note says."""
        self.digests, self.problem = note["digests"], note["problem"]
        self.warnings, self.has_fixed_spark = tuple(note["warnings"]), note["has_fixed_spark"]
        self.numbers = {
            name: math.nan if value is None else value for name, value in note["numbers"].items()
        }


class Evaluation:
    """
    Judges points of one study.

    Parameters
    ----------
    plan : Plan
        The study and what it begins with.
    store : Store or None
        Where results are looked for.
    runner : Runner
        Runs what is not there, and stores it.
    """

    def __init__(self, plan: Plan, store: Store | None, runner: Runner) -> None:
        self.plan, self.study = plan, plan.study
        self.store, self.runner = store, runner
        self._measures = measures = self.study.measures
        self._aims = [(measures.index(a.measure), a.measure.text) for a in self.study.aims]
        asked = [m.number for m in measures if m.origin == "result"]
        self._fields = tuple(dict.fromkeys((*_ALWAYS, *asked)))
        self._of_case = tuple(m.number for m in measures if m.origin == "case")
        self._needs_drive = any(m.origin == "vehicle" for m in measures)
        used = {m.condition for m in measures if m.condition}
        self._conditions = [c for c in self.study.conditions if c.name in used]
        self._speeds = {"": self.study.every_speed}
        self._speeds |= {c.name: (c.speed,) for c in self._conditions}
        self._found: dict[str, dict[float, Found]] = {}  # by digest and speed
        ways = [[c.name, *c.overrides] for c in self._conditions]
        self._ground = recollection.key_of("study", dict(plan.base.given), ways)
        self._parts: dict[str, str] = {}
        self._cases: dict[tuple[Point, str], Case] = {}
        self._drives: dict[str, dict[str, float]] = {}

    def rules_out(self, point: Point) -> bool:
        """Whether the case alone rules a point out, so that it costs no run."""
        engine = self._known([_Engine(point)])[0]
        return bool(engine.problem or self._broken(engine))

    def assess(
        self, points: Sequence[Point], on_trial: Callable[[Trial], None] | None = None
    ) -> list[Trial]:
        """
        Judge points: those that the case rules out without a run, the others by their results.

        Parameters
        ----------
        points : sequence of Point
            Engines.
        on_trial : callable, optional
            Gets each trial as soon as it is known.

        Returns
        -------
        list of Trial
            In the order of `points`.
        """
        engines = [_Engine(point) for point in points]
        trials: dict[int, Trial] = {}

        def settle(i: int) -> None:
            trials[i] = self._judged(engines[i])
            if on_trial is not None:
                on_trial(trials[i])

        waiting: dict[tuple[str, float], list[int]] = {}
        self._known(engines)
        with recollection.all_kept():
            digests = {digest for engine in engines for digest in engine.digests.values()}
            for digest, known in recollection.results(self.store, digests, self._fields).items():
                self._found.setdefault(digest, {}).update(known)
            for i, engine in enumerate(engines):
                lacking = self._lacking(engine)
                engine.lacking = len(lacking)
                for key in lacking:
                    waiting.setdefault(key, []).append(i)
                if not lacking:
                    settle(i)

        def done(case: Case, result: Performance | Failure) -> None:
            key = (case.digest, result.rpm)
            known = self._found.setdefault(case.digest, {})
            if result.rpm in known:
                return
            known[result.rpm] = self._fields_of(result)
            for i in waiting.get(key, ()):
                engines[i].lacking -= 1
                if not engines[i].lacking:
                    settle(i)

        if waiting:
            self.runner(self._runs(engines, set(waiting)), len(waiting), done)
        self._cases.clear()
        return [trials.get(i) or Trial(e.point, "unfinished") for i, e in enumerate(engines)]

    def _lacking(self, engine: _Engine) -> list[tuple[str, float]]:
        if engine.problem or self._broken(engine):
            return []
        lacking: dict[tuple[str, float], None] = {}  # conditions may ask for the same
        for name, digest in engine.digests.items():
            known = self._found.get(digest, {})
            lacking |= {(digest, rpm): None for rpm in self._speeds[name] if rpm not in known}
        return list(lacking)

    def _runs(
        self, engines: list[_Engine], waiting: set[tuple[str, float]]
    ) -> Iterator[tuple[Case, float]]:
        """Cases and speeds that are not there, each once; a case is built when it is its turn."""
        for engine in engines:
            for name, digest in engine.digests.items():
                speeds = [rpm for rpm in self._speeds[name] if (digest, rpm) in waiting]
                if not speeds:
                    continue
                case = self._cases.pop((engine.point, name), None) or self._case(engine, name)
                for rpm in speeds:
                    waiting.discard((digest, rpm))
                    yield case, rpm

    def _case(self, engine: _Engine, condition: str) -> Case:
        made = amend(self.plan.base, changes(self.study, engine.point))
        if condition:
            overrides = self.study.condition(condition).overrides
            made = amend(made, changes_of(overrides, self.study))
        return made

    def _known(self, engines: list[_Engine]) -> list[_Engine]:
        """Fill in what the cases alone decide, from notes or by building the cases."""
        with recollection.all_kept():
            whole = self._key_of_all(engines) if len(engines) >= _MANY else ""
            if whole and (all_noted := recollection.notes(self.store, [whole]).get(whole)):
                for engine, note in zip(engines, all_noted["engines"], strict=True):
                    engine.take(note)
                return engines
            keys = [self._key(engine.point) for engine in engines]
            noted = recollection.notes(self.store, keys)
        made: dict[str, dict[str, Any]] = {}
        every = []
        for engine, key in zip(engines, keys, strict=True):
            note = noted.get(key)
            if note is None or not note["numbers"].keys() >= set(self._of_case):
                note = made[key] = self._noted(engine)
            engine.take(note)
            every.append(note)
            if len(made) >= 1000:
                recollection.remember(self.store, made)
                made.clear()
        recollection.remember(self.store, made)
        if whole:
            recollection.remember(self.store, {whole: {"engines": every}})
        return engines

    def _key_of_all(self, engines: list[_Engine]) -> str:
        """Key of one note of very many points, in which the program looks up a study at once."""
        fields = known_fields()
        study, said = self.study, {}
        for i, variable in enumerate(study.variables):
            spot = fields.get(variable.name)
            if spot is not None and spot.part is not None:
                for file in {str(engine.point[i]) for engine in engines}:
                    place = part_place(study, file)
                    said[f"{variable.name} {file}"] = self._part(variable.name, place)
        names = [[variable.name, variable.values.unit] for variable in study.variables]
        points = [engine.point for engine in engines]
        rest = (names, list(map(repr, study.links)), said, self._of_case, points)
        return recollection.key_of("points", self._ground, *rest)

    def _noted(self, engine: _Engine) -> dict[str, Any]:
        digests: dict[str, str] = {}
        numbers: dict[str, float | None] = dict.fromkeys(self._of_case)
        said: dict[str, Any] = {"warnings": [], "has_fixed_spark": False}
        try:
            for name in self._speeds:
                case = self._case(engine, name)
                digests[name] = case.digest
                if len(self._cases) < _KEPT:
                    self._cases[engine.point, name] = case
                if not name:
                    told = (str(replace(warning, place="")) for warning in case.warnings)
                    said["warnings"] = list(dict.fromkeys(told))
                    said["has_fixed_spark"] = case.spark.mode == "schedule"
                    for number in self._of_case:
                        value = case_number(case, number)
                        numbers[number] = value if math.isfinite(value) else None
        except CaseError as error:
            problem = error.problems[0]
            where = f"{problem.path}: " if problem.path else ""
            reason = f"no such engine: {where}found {problem.found}; allowed {problem.allowed}"
            return {"digests": {}, "numbers": numbers, "problem": reason, **said}
        return {"digests": digests, "numbers": numbers, "problem": "", **said}

    def _key(self, point: Point) -> str:
        """Key of the note of a point: all that decides its cases."""
        made = changes(self.study, point)
        for name, value in made.items():
            if isinstance(value, str) and value.endswith(".toml"):
                made[name] = self._part(name, value)
        return recollection.key_of("point", self._ground, made)

    def _part(self, name: str, file: str) -> str:
        """Hash of what a part file says: the file may change while its name stays."""
        if file not in self._parts:
            given = amend(self.plan.base, {name: file}).given
            said = {k: v for k, v in given.items() if k.startswith(f"{name}.")}
            self._parts[file] = recollection.key_of("part", said)
        return self._parts[file]

    def _fields_of(self, result: Performance | Failure) -> Found:
        if isinstance(result, Failure):
            return result
        if not is_quotable(result):
            return None
        return tuple(
            math.nan if value is None else float(value)
            for value in (result[name] for name in self._fields)
        )

    def _broken(self, engine: _Engine) -> str:
        """The limit that the case alone breaks, in words; empty if none."""
        for limit in self.study.constraints:
            if limit.measure.origin == "case":
                value = engine.numbers[limit.measure.number]
                if limit.excess(value) > 0.0:
                    return f"{limit.text}: {_shown(value, limit.limit.unit)}"
        return ""

    def _judged(self, engine: _Engine) -> Trial:
        if engine.problem:
            return Trial(engine.point, "ruled out", reason=engine.problem)
        digest = engine.digests[""]
        points: dict[str, dict[float, tuple[float, ...]]] = {}
        failures: list[str] = []
        dropped = 0
        broken = self._broken(engine)
        for name, speeds in self._speeds.items():
            points[name] = {}
            known = self._found.get(engine.digests[name], {})
            for rpm in speeds:
                found = known.get(rpm)
                if isinstance(found, tuple):
                    points[name][rpm] = found
                elif not broken:
                    dropped += 1
                    why = found.reason if isinstance(found, Failure) else "not converged"
                    failures.append(f"{rpm:g} rpm {name}".rstrip() + f": {why}")
        main = points[""]
        curve = () if broken else tuple((rpm, row[0], row[1]) for rpm, row in main.items())
        drive = self._drive(curve) if self._needs_drive and not broken else {}
        numbers = tuple(self._number(m, engine, points, drive) for m in self._measures)
        status, reason = self._verdict(numbers, broken, failures)
        knocks = {rpm: row[_ALWAYS.index("knock_margin")] for rpm, row in main.items()}
        text = caution(knocks) if engine.has_fixed_spark and not broken else ""
        told = (*engine.warnings, text) if text else engine.warnings
        return Trial(engine.point, status, numbers, reason, digest, curve, dropped, told)

    def _number(
        self,
        measure: Measure,
        engine: _Engine,
        points: dict[str, dict[float, tuple[float, ...]]],
        drive: dict[str, float],
    ) -> float:
        if measure.origin == "case":
            return engine.numbers[measure.number]
        if measure.origin == "vehicle":
            return drive.get(measure.number, math.nan)
        i = self._fields.index(measure.number)
        values = {rpm: row[i] for rpm, row in points[measure.condition].items()}
        if measure.condition:
            return next(iter(values.values()), math.nan)
        return measure.of_points(values, (self.study.speeds[0], self.study.speeds[-1]))

    def _verdict(
        self, numbers: tuple[float, ...], broken: str, failures: list[str]
    ) -> tuple[Status, str]:
        if broken:
            return "ruled out", broken
        for i, text in self._aims:
            if math.isnan(numbers[i]):
                return "failed", failures[0] if failures else f"no {text}"
        for limit in self.study.constraints:
            value = numbers[self._measures.index(limit.measure)]
            if limit.excess(value) > 0.0:
                why = failures[0] if failures and math.isnan(value) else ""
                return "beyond limits", f"{limit.text}: {why or _shown(value, limit.limit.unit)}"
        return "good", ""

    def _drive(self, curve: tuple[tuple[float, float, float], ...]) -> dict[str, float]:
        """Times of the vehicle with this torque; remembered, as each takes a quarter second."""
        from enginesim.vehicle import accelerate

        if self.plan.vehicle is None or len(curve) < 2:
            return {}
        torque = [[rpm, value] for rpm, value, _ in curve]
        vehicle = asdict(replace(self.plan.vehicle, assumed=()))
        key = recollection.key_of("drive", vehicle, torque)
        if key not in self._drives:
            note = recollection.notes(self.store, [key]).get(key)
            if note is None:
                note = _times(accelerate, self.plan.vehicle, torque)
                recollection.remember(self.store, {key: note})
            self._drives[key] = {n: math.nan if v is None else v for n, v in note.items()}
        return self._drives[key]


def _times(accelerate: Any, vehicle: Any, torque: list[list[float]]) -> dict[str, float | None]:
    from enginesim.base.quantity import quantities

    try:
        run = accelerate(vehicle, [rpm for rpm, _ in torque], [value for _, value in torque])
    except ResultError:
        return {}
    known = [name for name, meaning in quantities(type(run)).items() if not meaning.shape]
    values = {name: float(getattr(run, name)) for name in known}
    return {name: value if math.isfinite(value) else None for name, value in values.items()}


def _shown(value: float, unit_name: str) -> str:
    from enginesim.base.units import shown

    return "no number" if math.isnan(value) else f"it is {shown(value, unit_name)}"
