"""A question of the sheet: what is asked, how it is judged, and what it says.

A question's folder holds one of these in its question.py. Terminal, page and PDF draw what it says; the
command line makes its command from it.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from valvetrain.answers.table import Block
    from valvetrain.answers.verdict import Check
    from valvetrain.setup.setup import Setup

__all__ = ["Option", "Question", "Refused"]

Results = Mapping[str, Any]


class Refused(ValueError):  # noqa: N818 - what happened, not that something broke
    """What was asked cannot be answered as it was given: one message a fault, each with its mend."""

    def __init__(self, *faults: str) -> None:
        """Keep the faults, one message each."""
        super().__init__("; ".join(faults))
        self.faults = faults


@dataclass(frozen=True)
class Option:
    """An option of a question's own.

    Attributes:
        name: as typed after two dashes, such as "square-at"; `argument` is its name in calls.
        help: what it asks for.
        kind: "text", "number", "count", "flag", "choice", "either" (--name or --no-name) or "file".
        to: who takes it: "study", "figure" or "tables"; several names part with a comma.
        metavar: what stands for its value in the help.
        choices: of a "choice".
        default: when it is left out.
        low, high: range of a "count", ends included.
        many: it may be given several times; its value is then a tuple.
        called: its name in calls, where that differs from the name typed.
    """

    name: str
    help: str
    kind: str = "text"
    to: str = "study"
    metavar: str | None = None
    choices: tuple[str, ...] = ()
    default: Any = None
    low: int | None = None
    high: int | None = None
    many: bool = False
    called: str = ""

    @property
    def argument(self) -> str:
        """Its name as an argument."""
        return self.called or self.name.replace("-", "_")


@dataclass(frozen=True)
class Question:
    """One question of the sheet. Its functions import what they need when they are called.

    Attributes:
        name: the command's name, and the key of its result.
        help: the question, as the command's help.
        study: (setup, results of the questions it builds on, options of its own) -> frozen result; it may
            raise `Refused`.
        checks: (setup, results with its own, unit system) -> verdicts.
        tables: (result, verdicts, unit system) -> what it says, as tables and sentences.
        document: (result, unit system) -> what stands under "results" in JSON.
        figure: (setup, results with its own, unit system, options to the figure) -> matplotlib figure.
        needs: names of the questions whose results it takes.
        cautions: shown with the answer.
        in_check: False for a study that is too long for `check`, which names it instead, or gives no verdict.
        details: (result, verdicts, unit system, options to the tables) -> more, in its own command only.
        remarks: result -> how many remarks on the figures given its tables end with; None where it has none.
        report_figure: the figure of the report, where `figure` takes seconds; None where there is none.
        report_options: setup -> options of the study in the report, which has room for more than `check`.
        options: of its own command.
        prepare: (setup, options to the study as given) -> options of the study; it may raise `Refused`.
    """

    name: str
    help: str
    study: Callable[..., Any]
    checks: "Callable[[Setup, Results, str], list[Check]]"
    tables: "Callable[[Any, list[Check], str], Iterable[Block]]"
    document: Callable[[Any, str], dict[str, Any]]
    figure: Callable[..., Any]
    needs: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    in_check: bool = True
    details: "Callable[..., Iterable[Block]] | None" = None
    remarks: "Callable[[Any], int] | None" = None
    report_figure: "Callable[[Setup, Results, str], Any] | None" = None
    report_options: "Callable[[Setup], dict[str, Any]] | None" = None
    options: tuple[Option, ...] = ()
    prepare: "Callable[..., dict[str, Any]] | None" = None
