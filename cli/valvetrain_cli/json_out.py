"""The document on stdout; what it is made of stands in `valvetrain.answers.document`."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

import click

from valvetrain.answers.document import (
    checks_json,
    document,
    length_list,
    quantity_json,
    series_json,
    valve_rows,
)
from valvetrain.answers.verdict import Check

__all__ = ["checks_json", "length_list", "print_document", "quantity_json", "series_json", "valve_rows"]


def print_document(
    command: str,
    sheet: str,
    results: Mapping[str, Any],
    checks: Sequence[Check],
    cautions: Sequence[str],
    system: str,
    extra: Mapping[str, Any] | None = None,
) -> None:
    """Print the document; `extra` stands beside the results."""
    whole = document(command, sheet, results, checks, cautions, system, extra)
    click.echo(json.dumps(whole, indent=2, ensure_ascii=False, allow_nan=False))
