"""`valvetrain rocker`: sweep, ratio, lift and stand shim."""

import sys
from pathlib import Path

import click

from valvetrain_cli.options import shared

__all__ = ["command", "rocker_table"]


@click.command("rocker")
@shared
def command(
    sheet: Path, as_json: bool, units: str | None, plot: Path | None, force: bool, strict: bool
) -> None:
    """Does each rocker meet the valve tip where it should, and which stand shim puts it right?"""
    from valvetrain_cli import cautions
    from valvetrain_cli.running import check_target, exit_status, read_sheet, write_whole

    check_target(plot, force)
    setup = read_sheet(sheet)
    from valvetrain.checks.rocker_checks import rocker_checks
    from valvetrain.studies.rocker_study import rocker_study

    result = rocker_study(setup)
    system = units or setup.units
    checks = rocker_checks(setup, result, system)
    if plot is not None:
        from valvetrain.plots.sheets import rocker_sheet, saved

        write_whole(plot, lambda path: saved(rocker_sheet(setup, result, system), path))
    if as_json:
        from valvetrain_cli.json_out import print_document, valve_rows

        print_document(
            "rocker", str(sheet), {"valves": valve_rows(result, system)}, checks, [cautions.TURNING], system
        )
    else:
        from valvetrain_cli.tables import print_cautions, print_to_do

        rocker_table(result, checks, system)
        print_to_do(checks, system)
        print_cautions([cautions.TURNING])
    sys.exit(exit_status([check.verdict for check in checks], strict))


def rocker_table(result, checks, system: str) -> None:  # type: ignore[no-untyped-def]
    """Print the rockers as a table."""
    from valvetrain.setup.units import display_unit
    from valvetrain_cli.tables import cells, print_table, verdict_cells

    unit = display_unit("length", system)
    print_table(
        f"Rocker on the valve tip: lengths in {unit}, sweep from the stem axis, positive away from the shaft",
        result.valves,
        [
            ("gross lift", cells(result.gross_lift, system)),
            ("net lift", cells(result.net_lift, system)),
            ("mean ratio", cells(result.mean_ratio, system)),
            ("sweep width", cells(result.sweep_width, system)),
            ("least possible", cells(result.least_sweep_width, system)),
            ("sweep middle", cells(result.sweep_middle, system)),
            ("to chamfer", cells(result.chamfer_distance, system)),
            ("stand shim for least sweep", cells(result.stand_shim_change_for_least_sweep, system)),
        ],
        verdict_cells(checks, result.valves),
    )
