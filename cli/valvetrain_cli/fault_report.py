"""What is saved where the program itself has a fault: enough to find it, and nothing that is the user's own.

It holds the command, the names of its options, the sheet's path, versions, and where in the program the fault
was met: no values of options, no values of the sheet, no words of the error, which may quote them.
"""

import datetime
import importlib.metadata
import os
import platform
import secrets
import sys
import tempfile
import traceback
from pathlib import Path

__all__ = ["report_text", "saved_report"]

_LIBRARIES = ("numpy", "scipy", "shapely", "pydantic", "pint", "matplotlib", "click", "rich")


def saved_report(error: BaseException) -> Path | None:
    """Save the report among what programs keep of themselves, else among temporary files; None if neither."""
    from valvetrain.setup.writing import write_file

    now = datetime.datetime.now(datetime.UTC)
    name = f"fault-{now:%Y%m%d-%H%M%S}-{secrets.token_hex(2)}.txt"
    text = report_text(error, sys.argv[1:], now)
    for folder in (_home(), Path(tempfile.gettempdir()) / "valvetrain"):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            write_file(folder / name, text)
        except (OSError, ValueError):
            continue
        return folder / name
    return None


def report_text(error: BaseException, arguments: list[str], now: datetime.datetime) -> str:
    """Write the report."""
    versions = [f"{name} {_version(name)}" for name in ("valvetrain", *_LIBRARIES)]
    lines = [
        "A fault of valvetrain itself.",
        "",
        f"when: {now:%Y-%m-%d %H:%M:%S} UTC",
        f"asked: {' '.join(_asked(arguments))}",
        f"with: Python {platform.python_version()} on {platform.system()} {platform.machine()}",
        *(f"      {version}" for version in versions),
        "",
        f"fault: {type(error).__name__}",
    ]
    for frame in traceback.extract_tb(error.__traceback__):
        lines.append(f"  {_inside(frame.filename)} line {frame.lineno} in {frame.name}")
    lines += ["", "Send this file to whoever gave you the program. If you may share the sheet, add it."]
    return "\n".join(lines) + "\n"


def _asked(arguments: list[str]) -> list[str]:
    """Return the command, the sheet's path and the names of the options, without what was given to them."""
    from valvetrain.setup.faults import readable
    from valvetrain_cli.main import COMMANDS

    asked, command = ["valvetrain"], None
    for place, argument in enumerate(arguments):
        if argument.startswith("-"):
            asked.append(readable(argument.partition("=")[0]))
        elif command is None:
            command = argument if argument in COMMANDS else "(unknown command)"
            asked.append(command)
        elif (Path(argument) / "setup.toml").exists() or Path(argument).suffix == ".toml":
            asked.append(readable(argument))
        elif not arguments[place - 1].startswith("-"):
            asked.append("...")
    return asked


def _inside(filename: str) -> str:
    """Name a file of the program by its package: where that is installed is the user's own."""
    parts = Path(filename).parts
    for base in ("site-packages", "dist-packages"):
        if base in parts:
            return "/".join(parts[parts.index(base) + 1 :])
    for base in ("valvetrain", "valvetrain_cli"):
        if base in parts:
            return "/".join(parts[len(parts) - 1 - parts[::-1].index(base) :])
    return parts[-1] if parts else filename


def _version(name: str) -> str:
    try:
        return importlib.metadata.version(name)
    except importlib.metadata.PackageNotFoundError:
        return "not installed"


def _home() -> Path:
    """Return the folder in which the system keeps what programs write of themselves."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", tempfile.gettempdir())) / "valvetrain"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Logs" / "valvetrain"
    return Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state") / "valvetrain"
