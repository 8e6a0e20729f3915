"""One thing that is not right, said to be read at arm's length: the action first, then figures."""

from dataclasses import dataclass

__all__ = ["STAGES", "Finding"]

STAGES = ("parts", "valves", "springs", "stands", "rockers", "pushrods", "running", "oil", "lash")
"""Where the work is done, in the order of assembly."""


@dataclass(frozen=True)
class Finding:
    """One finding.

    Attributes:
        where: valves, or a shaft; empty for the engine.
        do: the action, in a few words, beginning with the verb.
        fact: what was found, with what is allowed.
        then: what it comes to, where that is known.
        stage: of `STAGES`.
        verdict: "out" or "unsure".
        valves: that it is about.
        questions: names of the questions whose verdicts it explains.
    """

    where: str
    do: str
    fact: str
    then: str
    stage: str
    verdict: str
    valves: tuple[str, ...]
    questions: tuple[str, ...]
