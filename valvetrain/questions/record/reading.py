"""Reading the record of inspections of a setup's engine."""

from pathlib import Path

from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.parts.record import WearLog
from valvetrain.setup.linkage_columns import lobe_lift_as_made
from valvetrain.setup.setup import Setup
from valvetrain.setup.tables.wear_log import read_wear_log

__all__ = ["read_log"]


def read_log(setup: Setup, path: Path, by: str | None = None, *, shown_as: str | None = None) -> WearLog:
    """Read a record.

    Args:
        setup: the engine.
        path: the CSV file.
        by: "hours", "distance" or "date": what it is counted in; its own columns tell where left out.
        shown_as: name of the file in faults; its own where left out.

    Raises:
        SheetError: the record has faults, all of them listed.
    """
    states = [train.lash.state for train in setup.trains if train.lash.state is not None]
    return read_wear_log(
        path,
        shown_as or path.name,
        setup.valves,
        system=setup.units,
        instruments=dict(DEFAULT_UNCERTAINTY),
        engine=setup.record.engine,
        state=states[0] if states else None,
        lobe_lifts=lobe_lift_as_made(setup).value,
        by=by,
    )
