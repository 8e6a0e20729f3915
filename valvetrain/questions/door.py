"""What `import valvetrain` offers: reading a sheet, asking it, asking again with something changed."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from valvetrain.answers.number import Numbers
from valvetrain.answers.quantity import Quantity
from valvetrain.answers.verdict import Check
from valvetrain.questions.asking import asked
from valvetrain.questions.registry import ASKED, question
from valvetrain.setup.editing.changed import changed
from valvetrain.setup.read import read_setup
from valvetrain.setup.setup import Setup

if TYPE_CHECKING:
    from valvetrain.questions.fit.study import FitResult

__all__ = ["Answer", "ask", "changed", "fit", "read"]


@dataclass(frozen=True)
class Answer:
    """The answer to one question: its numbers by their names, and its verdicts.

    Attributes:
        name: of the question.
        setup: the setup that was asked.
        result: the frozen result, all of it in SI.
        checks: the verdicts.
    """

    name: str
    setup: Setup
    result: Any
    checks: tuple[Check, ...]

    def __getattr__(self, name: str) -> Any:
        """Return a number of the result, at every valve where it has one for each."""
        if name.startswith("_"):
            raise AttributeError(name)
        found = getattr(self.result, name, None)
        if found is None and not hasattr(self.result, name):
            raise AttributeError(f"{self.name} reports no {name!r}: it reports {', '.join(dir(self))}")
        if isinstance(found, Quantity) and len(found.value) == len(self.setup.valves):
            return Numbers(found, self.setup.valves, self.setup.units)
        return found

    def __dir__(self) -> list[str]:
        """List the numbers that the question reports."""
        own = vars(self.result)
        return sorted(name for name in own if isinstance(own[name], Quantity))

    def verdicts(self, valve: str) -> dict[str, str]:
        """Return the verdicts of one valve: check -> "ok", "out", "unsure" or "unmeasured"."""
        return {each.id: each.verdict for each in self.checks if each.valve == valve}

    def document(self) -> dict[str, Any]:
        """Return what stands under "results" in the command's JSON."""
        return question(self.name).document(self.result, self.setup.units)


def read(path: str | Path) -> Setup:
    """Read the setup sheet in a folder, or the setup.toml that is named.

    >>> setup = read("sample_geometry/pump_vee")
    >>> len(setup.valves)
    16

    Raises:
        SheetError: with every fault found in the sheet and its tables.
    """
    return read_setup(path)


def ask(setup: Setup, name: str, **options: Any) -> Answer:
    """Ask a setup one question, by the name of its command.

    >>> answer = ask(read("sample_geometry/pump_vee"), "rocker")
    >>> set(answer.verdicts("1I").values())
    {'ok'}
    >>> answer.sweep_width["1I"].to("in") < answer.net_lift["1I"].to("in")
    True

    Args:
        setup: as read.
        name: such as "rocker", "spring" or "lash".
        options: of the question's study [SI].

    Raises:
        ValueError: there is no such question.
    """
    if name not in ASKED:
        raise ValueError(f"there is no question {name!r}: ask one of {', '.join(ASKED)}")
    results = asked(setup, (name,), **options)
    checks = question(name).checks(setup, results, setup.units)
    return Answer(name, setup, results[name], tuple(checks))


def fit(setup: Setup, readings: str | Path, *, by_role: bool = False) -> "FitResult":
    """Infer the rocker's dimensions from bench readings.

    Args:
        setup: the sheet, without what is not known.
        readings: the readings' CSV file.
        by_role: take intake and exhaust rockers as two castings.

    Raises:
        SheetError: the readings have faults, or cannot be fitted.
    """
    from valvetrain.questions.fit.study import fit_study
    from valvetrain.setup.tables.readings import read_readings

    path = Path(readings)
    return fit_study(setup, read_readings(path, path.name, setup), path.name, setup.units, by_role)
