"""Reading the record for a command: its faults are printed and end it."""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from valvetrain.parts.record import WearLog
    from valvetrain.setup.setup import Setup

__all__ = ["read_log"]


def read_log(setup: "Setup", path: Path, by: str | None = None, *, shown_as: str | None = None) -> "WearLog":
    """Read a record of the engine of a setup; ends the command with status 2 where it has a fault."""
    from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
    from valvetrain.setup.faults import SheetError
    from valvetrain.setup.linkage_columns import lobe_lift_as_made
    from valvetrain.setup.tables.wear_log import read_wear_log
    from valvetrain_cli.running import bad_input

    states = [train.lash.state for train in setup.trains if train.lash.state is not None]
    try:
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
    except SheetError as error:
        bad_input([str(fault) for fault in error.faults])
