"""One value in the text of a TOML file: found, put in, taken out; every other letter stays as it is."""

import copy
import json
import re
import tomllib
from functools import lru_cache
from typing import Any

from valvetrain.setup.faults import Fault, SheetError

__all__ = ["value_in", "with_value"]

_NUMBER = re.compile(r"^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?$")
_DECIMAL_COMMA = re.compile(r"^[+-]?\d*,\d+$")
_FILE = "setup.toml"


@lru_cache(maxsize=8)
def _parsed(text: str) -> dict[str, Any]:
    """Parse a text, the latest ones once only; not to be changed."""
    return tomllib.loads(text)


def value_in(text: str, path: tuple[str, ...]) -> str | None:
    """Return the value of a key as a person would write it; None where the key is not there."""
    found: Any = _parsed(text)
    for step in path:
        found = _step(found, step)
        if found is None:
            return None
    return _written(found)


def with_value(text: str, path: tuple[str, ...], written: str | None, *, word: bool = False) -> str:
    """Put a value into a sheet's text, or take it out.

    A key that is not there takes the place of its own line of comment where its section has one, such as
    `#setback =     # in`, as starter sheets have; else it is added at the end of its section. A value taken
    out leaves its line as such a comment.

    Args:
        text: of the file.
        path: names of the sections, then the key's own.
        written: the value as a person writes it; None takes it out.
        word: it is text, even where it looks like a number.

    Raises:
        SheetError: the value cannot be written in TOML, or the key's section is none.
    """
    wanted = copy.deepcopy(_parsed(text))
    if written is None:
        if value_in(text, path) is None:
            return text
        place = _place(wanted, path)
        place.pop(path[-1])
        found = _commented_out(text, path)
        if found is None or not _says(found, wanted):
            found = _with_tomlkit(text, path, None)
    else:
        literal = _literal(written, word, path)
        value = tomllib.loads(f"value = {literal}")["value"]
        _place(wanted, path)[path[-1]] = value
        found = None
        if value_in(text, path) is None:
            found = _in_placeholder(text, path, literal) or _at_end_of_section(text, path, literal)
        else:
            found = _in_own_line(text, path, literal)
        if found is None or not _says(found, wanted):
            found = _with_tomlkit(text, path, literal)
    if not _says(found, wanted):
        raise SheetError(
            [Fault(_where(path), "cannot be changed without changing more", "Change it in an editor.")]
        )
    return found


def _says(text: str, wanted: dict[str, Any]) -> bool:
    """Say whether a text parses to what is wanted."""
    try:
        return _parsed(text) == wanted
    except tomllib.TOMLDecodeError:
        return False


def _literal(written: str, word: bool, path: tuple[str, ...]) -> str:
    """Write a value as TOML does."""
    plain = written.strip()
    if "\n" in plain or "\r" in plain:
        raise SheetError([Fault(_where(path), "the value has a line break", "Write it on one line.")])
    if not plain:
        raise SheetError([Fault(_where(path), "no value is given", "Write one.")])
    if not word:
        if _DECIMAL_COMMA.match(plain):
            plain = plain.replace(",", ".")
        if _NUMBER.match(plain):
            return _number(plain)
        if plain[0] in "[{\"'" or plain in ("true", "false"):
            try:
                tomllib.loads(f"value = {plain}")
            except tomllib.TOMLDecodeError as error:
                raise SheetError(
                    [Fault(_where(path), f"{plain} is not a value: {error}", "Write it as in the sheet.")]
                ) from error
            return plain
    return json.dumps(plain, ensure_ascii=False).replace("\x7f", "\\u007f")


def _number(plain: str) -> str:
    """Write a number as TOML wants it, every digit kept: no bare point, no zeros or spaces before it."""
    sign = plain[0] if plain[0] in "+-" else ""
    whole, point, rest = plain[len(sign) :].partition(".")
    digits = re.match(r"\d*", rest)
    fraction = digits[0] if digits else ""
    tail = rest[len(fraction) :]
    if not point:
        mantissa = re.match(r"\d*", whole)
        kept = mantissa[0] if mantissa else ""
        return f"{sign}{kept.lstrip('0') or '0'}{whole[len(kept) :]}"
    return f"{sign}{whole.lstrip('0') or '0'}.{fraction or '0'}{tail}"


def _written(value: Any) -> str:
    """Write a parsed value as a person would."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(_inside(each) for each in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_inside(each)}" for key, each in value.items()) + " }"
    return str(value)


def _inside(value: Any) -> str:
    return (
        '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
        if isinstance(value, str)
        else _written(value)
    )


def _step(place: Any, step: str) -> Any:
    """Go one step into a parsed sheet."""
    if isinstance(place, list) and step.isdigit() and 1 <= int(step) <= len(place):
        return place[int(step) - 1]
    return place.get(step) if isinstance(place, dict) else None


def _place(document: Any, path: tuple[str, ...], table: Any = dict) -> Any:
    """Find the section that holds a key; what is missing on the way is made."""
    place = document
    for depth, step in enumerate(path[:-1]):
        inside = _step(place, step)
        if inside is None and isinstance(place, dict) and not (depth and step.isdigit()):
            place[step] = table()
            inside = place[step]
        if not isinstance(inside, dict | list):
            raise SheetError(
                [
                    Fault(
                        _where(path),
                        f"'{'.'.join(path[: depth + 1])}' is not a section",
                        "Check the key.",
                    )
                ]
            )
        place = inside
    if not isinstance(place, dict):
        raise SheetError([Fault(_where(path), "is a list of sections", "Say which: row.1, row.2, ...")])
    return place


def _with_tomlkit(text: str, path: tuple[str, ...], literal: str | None) -> str:
    """Change one value through the parsed document, which keeps comments, order and form."""
    import tomlkit

    document: Any = tomlkit.parse(text)
    place = _place(document, path, tomlkit.table)
    if literal is None:
        del place[path[-1]]
    else:
        value = tomlkit.parse(f"value = {literal}")["value"]
        old = place.get(path[-1])
        if old is not None and hasattr(old, "trivia"):
            value.trivia.indent, value.trivia.comment_ws = old.trivia.indent, old.trivia.comment_ws
            value.trivia.comment = old.trivia.comment
        place[path[-1]] = value
    found = tomlkit.dumps(document)
    if "\r\n" in text:
        found = re.sub(r"(?<!\r)\n", "\r\n", found)
    return found


def _section_lines(lines: list[str], path: tuple[str, ...]) -> range | None:
    """Return the lines between the header of a key's section and the next; None if it has no header."""
    header = re.compile(rf"^\s*\[\s*{re.escape('.'.join(path[:-1]))}\s*\]\s*(?:#.*)?$")
    first = next((at + 1 for at, line in enumerate(lines) if header.match(line.rstrip("\r\n"))), None)
    if first is None:
        return None
    last = next((at for at in range(first, len(lines)) if lines[at].lstrip().startswith("[")), len(lines))
    return range(first, last)


def _in_placeholder(text: str, path: tuple[str, ...], literal: str) -> str | None:
    """Put the value on the key's own line of comment, its words behind it kept."""
    lines = text.splitlines(keepends=True)
    comment = re.compile(
        rf"^\s*#\s*{re.escape(path[-1])}\s*=(?P<old>\s*(?:\"[^\"]*\"|\[[^\]]*\]|[^#\r\n\"\[]*))(?P<rest>#[^\r\n]*)?(?P<end>[\r\n]*)$"
    )
    for at in _section_lines(lines, path) or ():
        match = comment.match(lines[at])
        if match is None:
            continue
        left = f"{path[-1]} = {literal}"
        if match["rest"]:
            left = left.ljust(match.start("rest") - 1) + " " + match["rest"]
        lines[at] = left + match["end"]
        return "".join(lines)
    return None


def _in_own_line(text: str, path: tuple[str, ...], literal: str) -> str | None:
    """Put the value where the old one stands on a line of its section, a number or plain words."""
    lines = text.splitlines(keepends=True)
    own = re.compile(
        rf"^(?P<left>\s*{re.escape(path[-1])}\s*=\s*)(?:\"(?:[^\"\\]|\\.)*\"|[-+.\w]+)(?P<rest>\s*(?:#.*)?[\r\n]*)$"
    )
    for at in _section_lines(lines, path) or ():
        match = own.match(lines[at])
        if match is not None:
            lines[at] = match["left"] + literal + match["rest"]
            return "".join(lines)
    return None


def _at_end_of_section(text: str, path: tuple[str, ...], literal: str) -> str | None:
    """Add the key below the last line of its section, blank lines behind it kept."""
    lines = text.splitlines(keepends=True)
    section = _section_lines(lines, path)
    if section is None:
        return None
    at = section.stop
    while at > section.start and not lines[at - 1].strip():
        at -= 1
    end = "\r\n" if "\r\n" in text else "\n"
    if not lines[at - 1].endswith(("\n", "\r")):
        lines[at - 1] += end
    lines.insert(at, f"{path[-1]} = {literal}{end}")
    return "".join(lines)


def _commented_out(text: str, path: tuple[str, ...]) -> str | None:
    """Turn the key's line into a comment, if it stands on one line of its section."""
    lines = text.splitlines(keepends=True)
    own = re.compile(rf"^\s*{re.escape(path[-1])}\s*=")
    for at in _section_lines(lines, path) or ():
        if own.match(lines[at]):
            lines[at] = f"#{lines[at]}"
            return "".join(lines)
    return None


def _where(path: tuple[str, ...]) -> str:
    return f"{_FILE} [{'.'.join(path[:-1])}] {path[-1]}"
