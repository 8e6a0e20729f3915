"""What a shop step does, one table a role; and at every valve for JSON."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from valvetrain.answers.document import quantity_json
from valvetrain.answers.table import Block, Sentence, Table, bare
from valvetrain.answers.verdict import Check
from valvetrain.questions.sensitivity.study import STEPS, SensitivityResult
from valvetrain.setup.units import display_unit, shown

__all__ = ["sensitivity_document", "sensitivity_tables"]

_COLUMNS = ("dimension", "step", "gross lift", "pattern's middle", "contact, full lift", "ratio, full lift")


def _step(kind: str, system: str) -> tuple[float, str]:
    """Return a step that a shop thinks in [SI], and its words."""
    if kind == "angle":
        return 0.017453292519943295, "1 deg"
    return (0.010 * 0.0254, "0.010 in") if system == "inch" else (0.25e-3, "0.25 mm")


def sensitivity_tables(result: SensitivityResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say it for each role at its first valve that is known."""
    unit = display_unit("length", system)
    known = np.asarray(np.isfinite(result.gross_lift).all(axis=0))
    for role in dict.fromkeys(result.roles):
        own = [index for index, each in enumerate(result.roles) if each == role and known[index]]
        if not own:
            yield Sentence(f"{role}: no valve's linkage is known whole; measure the pushrod's side as well.")
            continue
        index = own[0]
        rows = []
        for row, (words, kind) in enumerate(STEPS.values()):
            step, written = _step(kind, system)
            lengths = (result.gross_lift, result.middle, result.contact)
            cells = [bare(float(values[row, index]) * step, "length", system) for values in lengths]
            ratio = shown(float(result.ratio[row, index]) * step, "ratio", system)
            rows.append((words, written, *cells, ratio))
        title = f"One step more of each dimension, at {result.valves[index]} ({role}): changes in {unit}"
        yield Table(title, _COLUMNS, tuple(rows), words=frozenset({0}))


def sensitivity_document(result: SensitivityResult, system: str) -> dict[str, Any]:
    """Return what stands under "results"."""
    rows = []
    for index, (valve, role) in enumerate(zip(result.valves, result.roles, strict=True)):
        effects = {}
        for row, (name, (_, kind)) in enumerate(STEPS.items()):
            step, _ = _step(kind, system)
            effects[name] = {
                "step": quantity_json(step, kind, system),
                "gross_lift": quantity_json(result.gross_lift[row, index] * step, "length", system),
                "pattern_middle": quantity_json(result.middle[row, index] * step, "length", system),
                "contact_full": quantity_json(result.contact[row, index] * step, "length", system),
                "ratio": quantity_json(result.ratio[row, index] * step, "ratio", system),
            }
        rows.append({"valve": valve, "role": role, "effects": effects})
    return {"valves": rows}
