"""A question of the sheet: what is asked, how it is judged, and how the answer is shown."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from valvetrain.answers.verdict import Check
    from valvetrain.setup.setup import Setup

__all__ = ["Question"]

Results = Mapping[str, Any]


@dataclass(frozen=True)
class Question:
    """One question of the sheet. Its functions import what they need when they are called.

    Attributes:
        name: the command's name, and the key of its result.
        help: the question, as the command's help.
        study: (setup, results of the questions it builds on, options of its own) -> frozen result.
        checks: (setup, results with its own, unit system) -> verdicts.
        table: prints (result, verdicts, unit system) for a person.
        document: (result, unit system) -> what stands under "results" in JSON.
        figure: (setup, results with its own, unit system) -> matplotlib figure.
        needs: names of the questions whose results it takes.
        cautions: shown with the answer.
        in_check: False for a study that is too long for `check`, which names it instead, or gives no verdict.
        detail: prints more of (result, verdicts, unit system), in its own command only.
        remarks: result -> how many remarks on the figures given its table ends with; None where it has none.
        report_figure: the figure of the report, where `figure` takes seconds; None where there is none.
        report_options: setup -> options of the study in the report, which has room for more than `check`.
    """

    name: str
    help: str
    study: Callable[..., Any]
    checks: "Callable[[Setup, Results, str], list[Check]]"
    table: "Callable[[Any, list[Check], str], None]"
    document: Callable[[Any, str], dict[str, Any]]
    figure: "Callable[[Setup, Results, str], Any]"
    needs: tuple[str, ...] = ()
    cautions: tuple[str, ...] = field(default=())
    in_check: bool = True
    detail: "Callable[[Any, list[Check], str], None] | None" = None
    remarks: "Callable[[Any], int] | None" = None
    report_figure: "Callable[[Setup, Results, str], Any] | None" = None
    report_options: "Callable[[Setup], dict[str, Any]] | None" = None
