"""The document on stdout; what it is made of stands in `valvetrain.answers.document`."""

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any

from valvetrain.answers.document import (
    checks_json,
    document,
    length_list,
    quantity_json,
    series_json,
    valve_rows,
)
from valvetrain.answers.verdict import Check
from valvetrain_cli.streams import print_utf8
from valvetrain_cli.with_option import asked_with, pairs

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
    """Print the document; `extra` and what was given after `--with` stand beside the results."""
    given = {"with": dict(pairs(asked_with()))} if asked_with() else {}
    whole = document(command, sheet, results, checks, cautions, system, {**(extra or {}), **given})
    text = json.dumps(whole, indent=2, ensure_ascii=False, allow_nan=False)
    # JSON escapes the orders to a terminal below the blank; those above the letters it leaves.
    print_utf8(re.sub(r"[\x7f-\x9f]", lambda sign: f"\\u{ord(sign[0]):04x}", text))
