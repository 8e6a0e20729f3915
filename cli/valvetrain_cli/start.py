"""Where the `valvetrain` command begins: what a run ends with, whatever happens in it.

Exit status: 0 nothing is outside its limits, 1 something is, 2 bad input or usage, 3 a fault of the program
itself, 130 stopped from the keyboard, 141 nobody reads its output any more.
"""

import contextlib
import errno
import io
import os
import sys
from typing import NoReturn

import click

from valvetrain_cli.main import main

__all__ = ["INTERRUPTED", "OWN_FAULT", "UNREAD", "start"]

BAD_INPUT = 2
OWN_FAULT = 3
INTERRUPTED = 130
UNREAD = 141

# What the system answers where an output takes nothing (a full disk, a closed file). Commands turn such
# answers about their own files into messages of their own: what comes as far as here is standard output's.
_NO_OUTPUT = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EBADF)


def start(arguments: list[str] | None = None) -> NoReturn:
    """Run the command line and leave with its status."""
    from valvetrain_cli.streams import made_safe

    made_safe()
    if sys.stdout is None:
        _say("standard output is closed: nothing can be shown. Open it, or send it to a file.")
        _leave(BAD_INPUT)
    try:
        status = _status(arguments)
        sys.stdout.flush()
    except BrokenPipeError:
        status = UNREAD
    except OSError as error:
        if error.errno not in _NO_OUTPUT:
            status = _own_fault(error)
        else:
            reason = (error.strerror or str(error)).lower()
            _say(f"standard output cannot be written: {reason}. Send it elsewhere, or make room.")
            status = BAD_INPUT
    except KeyboardInterrupt:
        _say("stopped.")
        status = INTERRUPTED
    except Exception as error:
        status = _own_fault(error)
    _leave(status)


def _status(arguments: list[str] | None) -> int:
    """Run the command; return its exit status."""
    from valvetrain.setup.faults import readable

    try:
        status = main.main(args=arguments, prog_name="valvetrain", standalone_mode=False)
    except click.ClickException as error:
        said = io.StringIO()
        error.show(said)
        click.echo("\n".join(map(readable, said.getvalue().rstrip("\n").split("\n"))), err=True)
        return BAD_INPUT
    except click.Abort:
        _say("stopped.")
        return INTERRUPTED
    except SystemExit as leaving:
        if isinstance(leaving.code, str):
            _say(leaving.code)
            return BAD_INPUT
        return int(leaving.code or 0)
    return status if isinstance(status, int) else 0


def _own_fault(error: Exception) -> int:
    """Say in one line that the fault is the program's own, and where what is needed to mend it was saved."""
    from valvetrain_cli.fault_report import saved_report

    place = saved_report(error)
    saved = "A report of it could not be saved."
    if place is not None:
        saved = (
            f"What was asked, without any value of the sheet, is saved in {place}: please send that file to "
            "whoever gave you this program."
        )
    _say(f"a fault of the program itself ({type(error).__name__}), not of what you gave. {saved}")
    return OWN_FAULT


def _say(sentence: str) -> None:
    """Write one line on stderr, if anybody can hear it."""
    with contextlib.suppress(OSError, ValueError):
        click.echo(f"valvetrain: {sentence}", err=True)


def _leave(status: int) -> NoReturn:
    """Leave without another word: what is still in a stream that takes nothing would be complained of."""
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None:
                stream.flush()
        except (OSError, ValueError):
            with contextlib.suppress(OSError, ValueError):
                nowhere = os.open(os.devnull, os.O_WRONLY)
                os.dup2(nowhere, stream.fileno())
                os.close(nowhere)
    sys.exit(status)
