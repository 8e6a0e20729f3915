"""The standard streams on any console: what it cannot show is written in letters that it can."""

import codecs
import io
import os
import sys

__all__ = ["made_safe", "print_utf8"]

# Signs of the tables and sentences, in letters that every console has.
_PLAIN = {
    "±": "+-",
    "°": "deg",
    "µ": "u",
    "μ": "u",
    "×": "x",
    "·": ".",
    "−": "-",
    "–": "-",
    "—": "-",
    "…": "...",
    "→": "->",
    "≤": "<=",
    "≥": ">=",
    "²": "^2",
    "³": "^3",
    "’": "'",
    "‘": "'",
    "“": '"',
    "”": '"',
}

_HANDLER = "valvetrain.plain"


def _in_plain_letters(error: UnicodeError) -> tuple[str | bytes, int]:
    """Replace what an encoding cannot hold."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text = "".join(_PLAIN.get(sign, "?") for sign in error.object[error.start : error.end])
    return text, error.end


def made_safe() -> None:
    """Let standard output and error replace what they cannot show; a closed error stream leads nowhere."""
    codecs.register_error(_HANDLER, _in_plain_letters)
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123 - open until the end
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_HANDLER)


def print_utf8(text: str) -> None:
    """Print text as UTF-8, whatever the console's encoding: for documents that programs read."""
    stream = sys.stdout
    binary = getattr(stream, "buffer", None)
    if binary is None:  # a stream of text alone, as an editor's or a notebook's
        stream.write(f"{text}\n")
        stream.flush()
        return
    stream.flush()
    # A lone surrogate is what is left of a file name that is no UTF-8.
    binary.write(f"{text}\n".encode("utf-8", "replace"))
    binary.flush()
