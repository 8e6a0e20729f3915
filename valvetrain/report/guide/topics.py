"""The guide: which topic explains which key, and what stands beside each."""

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY, Instruments
from valvetrain.parts.limits.defaults import DEFAULT_LIMITS
from valvetrain.parts.spec import Spec
from valvetrain.report.guide.cam import CAM_TOPICS
from valvetrain.report.guide.rocker import ROCKER_TOPICS
from valvetrain.report.guide.running import RUNNING_TOPICS
from valvetrain.report.guide.sheet import SHEET_TOPICS
from valvetrain.report.guide.spring import SPRING_TOPICS
from valvetrain.report.guide.topic import Topic
from valvetrain.report.guide.train import TRAIN_TOPICS

__all__ = ["GROUPS", "TOPICS", "KeyEntry", "entries", "found", "topic_of", "usual", "words_known"]

GROUPS: tuple[tuple[str, tuple[Topic, ...]], ...] = (
    ("Rocker, shaft and tip", ROCKER_TOPICS),
    ("Springs", SPRING_TOPICS),
    ("Camshaft, lash and piston", CAM_TOPICS),
    ("Pushrod, adjuster, tappet, heights", TRAIN_TOPICS),
    ("Weights, wear, oil, record", RUNNING_TOPICS),
    ("The sheet", SHEET_TOPICS),
)

TOPICS = tuple(topic for _, topics in GROUPS for topic in topics)

_INSIDE = ("middle_spring", "inner_spring")


@dataclass(frozen=True)
class KeyEntry:
    """One key as the guide shows it.

    Attributes:
        name: as it stands in the sheet: `[shaft] setback`, or `column offset`.
        doc: what it is.
        instrument: what it is usually read with, in words; empty where it is not read.
        known_to: its usual standard uncertainty in both unit systems; empty where there is none.
    """

    name: str
    doc: str
    instrument: str = ""
    known_to: str = ""


def topic_of(key: str) -> Topic | None:
    """Return the topic that explains "section.key"; None where there is none."""
    section, _, name = key.partition(".")
    for candidate in (key, f"{section}.*", f"spring.{name}", f"inner_spring.{name}"):
        if candidate.startswith(("spring.", "inner_spring.")) and candidate != key and section not in _INSIDE:
            continue
        for topic in TOPICS:
            if candidate in topic.keys:
                return topic
    return None


def found(asked: str) -> list[Topic]:
    """Return the topics that a word names: a topic, a key with or without its section, a column, a section.

    Raises:
        KeyError: nothing is called so; holds a suggestion.
    """
    word = asked.strip().strip("[]").replace("] ", ".").replace("]", ".").replace(" ", "_").lower().strip(".")
    word = word.replace("-", "_")
    for topic in TOPICS:
        if word == topic.name:
            return [topic]
    whole = topic_of(word) if "." in word else None
    if whole is not None:
        return [whole]
    named = [
        topic
        for topic in TOPICS
        if word in topic.columns or any(word == key.partition(".")[2] for key in topic.keys)
    ]
    if not named:
        named = [topic for topic in TOPICS if any(word == key.partition(".")[0] for key in topic.keys)]
    if not named and word in (*DEFAULT_UNCERTAINTY, *DEFAULT_LIMITS):
        named = found("instruments" if word in DEFAULT_UNCERTAINTY else "limits")
    if not named:
        said = [topic for topic in TOPICS if _said(asked, topic.title)]
        if len(said) > 1:
            which = ", ".join(topic.name for topic in said)
            raise KeyError(f"'{asked}' belongs to several topics: {which}. Ask for one of them.")
        named = said
    if not named:
        near = difflib.get_close_matches(word, words_known(), n=1, cutoff=0.5)
        hint = f"Did you mean '{near[0]}'?" if near else "`valvetrain guide` lists them."
        raise KeyError(f"there is no topic or key '{asked}'. {hint}")
    return named


def _said(asked: str, title: str) -> bool:
    """Say whether a title holds every word that is asked for, singular or plural."""

    def words(text: str) -> set[str]:
        return {each.rstrip("s") for each in re.findall(r"[a-z]+", text.lower())}

    wanted = words(asked.replace("_", " "))
    return bool(wanted) and wanted <= words(title)


def words_known() -> list[str]:
    """Return every word that may be asked for."""
    words = [topic.name for topic in TOPICS]
    for topic in TOPICS:
        words += [key for key in topic.keys if "*" not in key]
        words += [key.partition(".")[2] for key in topic.keys if "*" not in key]
        words += topic.columns
    return list(dict.fromkeys(words))


def entries(topic: Topic) -> list[KeyEntry]:
    """Return the topic's keys, each with its description, instrument and usual uncertainty."""
    listed: list[KeyEntry] = []
    for key in topic.keys:
        section, _, name = key.partition(".")
        if key == "instruments.*":
            listed += [_instrument_entry(each) for each in DEFAULT_UNCERTAINTY]
        elif key == "limits.*":
            listed += [
                KeyEntry(f"[limits] {each.id}", each.doc, each.basis) for each in DEFAULT_LIMITS.values()
            ]
        else:
            spec = _spec(section, name)
            where = f"column {name}" if section == "station" else f"[{section}] {name}"
            if key == "lobe.measured_lift":
                where = "column lobe_lift"
            elif key == "lash.lash":
                where = "column lash"
            elif key == "lash.wanted":
                where = "[lash] intake, exhaust"
            elif section in ("durations", "events"):
                where = f"[lobe] {section}: {name}"
            elif section == "row":
                where = f"[[row]] {name}"
            doc = spec.doc + (f" ({', '.join(spec.choices)})" if spec.choices else "")
            listed.append(KeyEntry(where, doc, _instrument_words(spec), usual(spec.instrument)))
    return listed


def _spec(section: str, name: str) -> Spec:
    """Find the description of a key, wherever it is kept."""
    from valvetrain.parts import lobe, row, valve
    from valvetrain.parts.spec import spec_of
    from valvetrain.setup.schema import SECTIONS

    own: dict[str, Any] = {
        "station": valve.Station,
        "row": row.RowText,
        "durations": lobe.CardDuration,
        "events": lobe.CardEvents,
    }
    if section in ("sheet", "tables"):
        return Spec(_SHEET_DOCS[name])
    return spec_of(own.get(section) or SECTIONS[section], name)


_SHEET_DOCS = {
    "title": "what the engine is called in what is printed",
    "units": "inch or metric: what a plain number is in",
    "valves": "CSV or .xlsx table of the valves, a row each",
    "heights": "CSV or .xlsx table of what machine work changed",
    "wheel": "CSV or .xlsx table of degree-wheel readings",
    "correlation": "table that `fit` writes: how inferred values hang together",
}


def _instrument_words(spec: Spec) -> str:
    if spec.instrument in (None, "exact"):
        return ""
    return _instrument_doc(spec.instrument)


def _instrument_doc(name: str) -> str:
    from valvetrain.parts.spec import spec_of

    return spec_of(Instruments, name).doc


def _instrument_entry(name: str) -> KeyEntry:
    return KeyEntry(f"[instruments] {name}", _instrument_doc(name), "", usual(name))


def usual(instrument: str | None) -> str:
    """Write an instrument's usual standard uncertainty in both unit systems; empty where there is none."""
    from valvetrain.setup.units import display_unit, from_si

    if instrument is None or instrument not in DEFAULT_UNCERTAINTY:
        return ""
    dimension, size = DEFAULT_UNCERTAINTY[instrument]
    if dimension == "fraction":
        return f"+- {100 * size:g} % of the reading"
    shown = {
        f"{from_si(size, dimension, system, difference=True):.2g} {display_unit(dimension, system)}".strip()
        for system in ("inch", "metric")
    }
    both = sorted(shown, key=lambda text: (" in" not in f" {text}", text))
    return "+- " + " (".join(both) + ")" * (len(both) - 1)


def keys_of(topics: Iterable[Topic]) -> list[str]:
    """Return every key that some topics explain."""
    return [key for topic in topics for key in topic.keys]
