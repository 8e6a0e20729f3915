"""`valvetrain log`: add inspections to the record, whole or not at all."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from valvetrain_cli.options import sheet_argument
from valvetrain_cli.paths import FilePath

if TYPE_CHECKING:
    from valvetrain.setup.setup import Setup
    from valvetrain.setup.tables.csv_file import Table

__all__ = ["command"]


@click.command("log")
@sheet_argument
@click.option(
    "--log",
    "record",
    type=FilePath(dir_okay=False),
    required=True,
    help="The record, a CSV file.",
)
@click.option("--new", is_flag=True, help="Begin the record: the file must not exist yet.")
@click.option("--valve", help="The valve inspected, such as 3E.")
@click.option("--date", help="Date of the inspection, year-month-day.")
@click.option("--hours", help="Running hours.")
@click.option("--distance", help="Distance run.")
@click.option("--lash-found", help="Lash found; plain numbers are in the sheet's units.")
@click.option("--lash-left", help="Lash left, where it was set anew.")
@click.option("--state", help="cold or hot: the engine as the lash was read.")
@click.option("--lobe-lift", help="Lobe lift read with a dial on the tappet.")
@click.option("--turned", help="yes or no: whether the marked pushrod was seen to turn.")
@click.option("--remarks", help="Free words.")
@click.option(
    "--from",
    "rows",
    type=FilePath(dir_okay=False),
    help="Add every row of this CSV file (same columns) instead of one inspection.",
)
def command(sheet: Path, record: Path, new: bool, rows: Path | None, **values: str | None) -> None:
    """Add an inspection to the record: checked first, then written whole or not at all.

    The lines that are there are never touched.
    """
    from valvetrain_cli.asking import refusals
    from valvetrain_cli.running import bad_input, read_sheet

    setup = read_sheet(sheet)
    given = {name: value for name, value in values.items() if value is not None}
    if rows is not None and given:
        names = ", ".join(f"--{name.replace('_', '-')}" for name in given)
        bad_input([f"--from: takes its rows from the file; leave out {names}."])
    if rows is None and "valve" not in given:
        bad_input(["--valve: name the valve that was inspected, or give a file of rows with --from."])
    try:
        with refusals():
            added = _added(setup, given if rows is None else None, rows)
            count = _written(setup, record, new, added)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        bad_input([f"{record}: cannot be written: {reason}. Nothing was changed."])
    click.echo(f"{record}: {len(added)} added, {count} inspections in all.")


def _added(setup: "Setup", given: dict[str, str] | None, rows: Path | None) -> list[dict[str, str]]:
    """Return the rows to add, column -> cell."""
    from valvetrain.questions.record.reading import read_log
    from valvetrain.setup.faults import SheetError
    from valvetrain.setup.tables.log_columns import LOG_COLUMNS, LOG_SPECS
    from valvetrain_cli.running import bad_input

    if given is not None:
        own = [given]
    else:
        from valvetrain.setup.tables.csv_file import read_table

        assert rows is not None
        try:
            table = read_table(rows, rows.name, required=("valve",))
        except SheetError as error:
            bad_input(error.faults)
        unknown = [name for name in table.units if name not in LOG_COLUMNS]
        if unknown:
            bad_input(
                [f"{rows.name} header: column '{unknown[0]}' is not known. Use {', '.join(LOG_COLUMNS)}."]
            )
        _known_engine(setup, table)
        read_log(setup, rows)  # what is wrong with the rows by themselves is named by their own file and line
        own = [
            {
                name: _with_unit(cell, table.units[name]) if name in LOG_SPECS else cell
                for name, cell in cells.items()
                if cell
            }
            for _, cells in table.rows
        ]
    if setup.record.engine is not None:
        own = [{"engine": setup.record.engine} | row for row in own]
    return own


def _known_engine(setup: "Setup", table: "Table") -> None:
    """Refuse rows that name an engine where the sheet names none: nobody could tell whose they are."""
    from valvetrain_cli.running import bad_input

    if setup.record.engine is not None:
        return
    for line, cells in table.rows:
        if name := cells.get("engine"):
            bad_input(
                [
                    f"{table.where(line, 'engine')}: names engine '{name}', and the sheet names none. "
                    f'Write engine = "{name}" under [record] of the sheet if it is that one.'
                ]
            )


def _with_unit(cell: str, unit: str | None) -> str:
    """Write a cell's unit beside it, where its column named one and the cell none."""
    plain = cell.replace(",", ".").replace("+", "").replace("-", "").strip()
    return f"{cell} {unit}" if unit and plain.replace(".", "", 1).isdigit() else cell


def _written(setup: "Setup", record: Path, new: bool, added: list[dict[str, str]]) -> int:
    """Add the rows under a lock; the file is replaced by a whole one that was read back without a fault."""
    from valvetrain.questions.record.reading import read_log
    from valvetrain.setup.tables.log_file import LogRefusedError, appended
    from valvetrain_cli.running import bad_input

    def checked(path: Path) -> int:
        return len(read_log(setup, path, shown_as=record.name).valve)

    try:
        return appended(record, added, system=setup.units, new=new, check=checked)
    except LogRefusedError as refused:
        bad_input([f"{record}: {refused}"])
