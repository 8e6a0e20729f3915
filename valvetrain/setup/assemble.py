"""From the read sections and rows to the parts of every valve."""

import dataclasses
from collections.abc import Mapping
from typing import Any

from valvetrain.parts.adjuster import HeightChange
from valvetrain.parts.engine import Engine, Stock
from valvetrain.parts.instruments import DEFAULT_UNCERTAINTY
from valvetrain.parts.limits.defaults import DEFAULT_LIMITS
from valvetrain.parts.limits.limit import Limit
from valvetrain.parts.lobe import Cam, CardDuration, CardEvents, Lash
from valvetrain.parts.measured import Measured
from valvetrain.parts.oil import Oil
from valvetrain.parts.record import Record
from valvetrain.parts.spring import LoadTest, SpringTester
from valvetrain.parts.train import Train
from valvetrain.parts.valve import Station
from valvetrain.setup.faults import Fault, SheetError
from valvetrain.setup.lobe_at_tappet import with_lobes_at_tappet
from valvetrain.setup.pushrod_convention import with_center_distance, without_convention
from valvetrain.setup.schema import PER_ROLE, SECTIONS
from valvetrain.setup.setup import Setup
from valvetrain.setup.tables.valves import ValveRow

__all__ = ["assembled"]

Sections = dict[str, dict[str, Any]]
_MAPPINGS = ("tests",)  # keys whose value, once read, is a mapping and no sub-section
SPRINGS = ("spring", "middle_spring", "inner_spring")


def assembled(
    *,
    sheet: str,
    title: str,
    units: str,
    sections: Sections,
    limits: Mapping[str, dict[str, Measured]],
    names: tuple[str, ...],
    rows: Mapping[str, ValveRow],
    on_shaft: Mapping[str, str],
    has_valve_table: bool,
    heights: tuple[HeightChange, ...] = (),
    feeler: float = DEFAULT_UNCERTAINTY["feeler"][1],
) -> Setup:
    """Build the setup: the section's values, then the role's or shaft's, then the valve's own over them.

    `feeler` [m] is how surely a feeler sets a lash; `on_shaft`: valve -> its shaft, where the sheet says so.

    Raises:
        SheetError: limits turned round, or a valve's spring that is not in the load tests.
    """
    faults: list[Fault] = []
    tested: list[tuple[LoadTest, ...]] = []
    not_borrowed: set[str] = set()
    trains = [
        _train(name, sections, rows.get(name), on_shaft.get(name), tested, faults, feeler, not_borrowed)
        for name in names
    ]
    faults += _springs_named_twice(trains, tested, rows)
    trains = with_lobes_at_tappet(trains, faults)
    faults += _lash_without_place(trains, sections["lash"])
    if sections["stock"].get("pushrod_lengths") and not any(one.pushrod.convention for one in trains):
        faults.append(without_convention("setup.toml [stock] pushrod_lengths"))
    judged = dict(DEFAULT_LIMITS)
    for name, ends in limits.items():
        judged[name] = _limit(judged[name], ends, faults)
    if faults:
        raise SheetError(faults)
    return Setup(
        sheet=sheet,
        title=title,
        units=units,
        engine=Engine(**sections["engine"]),
        cam=Cam(**sections["cam"]),
        stock=Stock(**sections["stock"]),
        oil=Oil(**sections["oil"]),
        record=Record(**sections["record"]),
        trains=tuple(trains),
        limits=judged,
        heights=heights,
        spring_tester=SpringTester(**sections["spring_tester"]),
        tested_springs=tuple(tested),
        not_borrowed=tuple(sorted(not_borrowed)),
    )


def _lash_without_place(trains: list[Train], lash: Mapping[str, Any]) -> list[Fault]:
    """Refuse a lash that does not say where it is measured, or in which state: nothing is assumed."""
    if all(train.lash.lash is None and train.lash.wanted is None for train in trains):
        return []
    faults = []
    for key, what, choices in (
        ("at", "where it is measured", 'at = "valve" (between pad and tip) or at = "pushrod"'),
        ("state", "in which state the engine is", 'state = "cold" or state = "hot"'),
    ):
        if lash.get(key) is None:
            said = f"a lash is given and not {what}"
            faults.append(Fault("setup.toml [lash]", said, f"Write {choices}."))
    return faults


def _train(
    name: str,
    sections: Sections,
    row: ValveRow | None,
    shaft: str | None,
    tested: list[tuple[LoadTest, ...]],
    faults: list[Fault],
    feeler: float,
    not_borrowed: set[str],
) -> Train:
    """Build the train of one valve."""
    digits = "".join(letter for letter in name[:-1] if letter.isdigit()) if name[-1] in "IE" else ""
    cylinder = int(digits or name.rstrip("0123456789")[:-1])
    role = "intake" if "I" in name else "exhaust"
    values: dict[str, dict[str, Any]] = {}
    shaft = shaft or (sections["shaft"].get(role) or {}).get("name") or sections["shaft"].get("name")
    for section in PER_ROLE:
        values[section] = _of(section, sections[section], role, shaft, name, row, faults)
    values["shaft"]["name"] = shaft
    lash = sections["lash"]
    values["lash"] = {key: lash[key] for key in ("at", "state") if key in lash}
    if role in lash:
        # What is wanted is exact; what a feeler has made of it is not.
        wanted = lash[role]
        as_set = wanted if wanted.stated else dataclasses.replace(wanted, uncertainty=feeler)
        values["lash"] |= {"wanted": wanted, "lash": as_set}
    values["station"] = {}
    if row is not None:
        for (section, key), value in row.values.items():
            if value is None and values[section].get(key) is not None:
                not_borrowed.add(f"{section}.{key}")
            values[section][key] = value
    values["pushrod"] = with_center_distance("setup.toml [pushrod]", values["pushrod"], faults)
    for section in SPRINGS:
        tests = values[section].get("tests")
        if tests is not None:
            test = values[section]["tests"] = _own_test(name, section, tests, row, faults)
            at_valve = row is not None and (section, "solid_height") in row.values
            if test is not None and test.solid_height is not None and not at_valve:
                values[section]["solid_height"] = test.solid_height
            if section == "spring":
                tested.append(tuple(tests.values()))
        elif section == "spring":
            tested.append(())
    for key, kind in (("durations", CardDuration), ("events", CardEvents)):
        if values["lobe"].get(key):
            values["lobe"][key] = tuple(_card(each, kind) for each in values["lobe"][key])
    parts = {section: SECTIONS[section](**values[section]) for section in PER_ROLE}
    return Train(
        name=name,
        cylinder=cylinder,
        role=role,
        station=Station(**values["station"]),
        lash=Lash(**values["lash"]),
        **parts,
    )


def _of(
    section: str,
    written: Mapping[str, Any],
    role: str,
    shaft: str | None,
    name: str,
    row: ValveRow | None,
    faults: list[Fault],
) -> dict[str, Any]:
    """What a section says of a valve: its own keys, and over them its role's and its shaft's."""
    own = {key: value for key, value in written.items() if not isinstance(value, dict) or key in _MAPPINGS}
    of_role, of_shaft = (written.get(role) or {}), (written.get(shaft) or {} if shaft else {})
    for key in of_role.keys() & of_shaft.keys():
        if row is None or (section, key) not in row.values:
            fault = Fault(
                f"setup.toml [{section}.{role}] and [{section}.{shaft}]",
                f"both give {key}, and which holds for {name} is not said",
                f"Keep one, or give the column {section}.{key} in the table of valves.",
            )
            if fault.where not in [each.where for each in faults]:
                faults.append(fault)
    return own | of_role | of_shaft


def _card(each: Any, kind: type) -> Any:
    """Turn one figure of a card into its part."""
    if isinstance(each, kind):
        return each
    return kind(**{field.name: getattr(each, field.name) for field in dataclasses.fields(kind)})


def _own_test(
    name: str, section: str, tests: dict[str, LoadTest], row: ValveRow | None, faults: list[Fault]
) -> LoadTest | None:
    """Return the load test of a valve's own spring; a valve never borrows another valve's spring."""
    if list(tests) == [""]:
        return tests[""]
    spring = getattr(row, section) if row is not None else ""
    if not spring:
        return None
    if spring not in tests:
        where = f"valves table line {row.line}, column {section}" if row is not None else f"valve {name}"
        faults.append(
            Fault(where, f"spring '{spring}' is not in the load tests", f"Tested are: {', '.join(tests)}.")
        )
        return None
    return tests[spring]


def _springs_named_twice(
    trains: list[Train], tested: list[tuple[LoadTest, ...]], rows: Mapping[str, ValveRow]
) -> list[Fault]:
    """Say which tested spring is named at two valves.

    Where fewer were tested than there are valves that name one, one may stand for many.
    """
    valves: dict[int, list[str]] = {}
    names: dict[int, str] = {}
    for train in trains:
        test = train.spring.tests
        if test is not None and test.spring:
            valves.setdefault(id(test), []).append(train.name)
            names[id(test)] = test.spring
    number = len({id(test) for own in tested for test in own})
    if number < sum(map(len, valves.values())):
        return []
    return [
        Fault(
            f"valves table line {rows[own[1]].line}, column spring",
            f"spring '{names[key]}' is on {' and on '.join(own)}",
            "One spring goes on one valve: correct the names.",
        )
        for key, own in valves.items()
        if len(own) > 1
    ]


def _limit(limit: Limit, ends: dict[str, Measured], faults: list[Fault]) -> Limit:
    """Put the sheet's own ends into a limit."""
    low = ends["low"].value if "low" in ends else limit.low
    high = ends["high"].value if "high" in ends else limit.high
    if low > high:
        faults.append(
            Fault(
                f"setup.toml [limits.{limit.id}]",
                "its low end is above its high end",
                "Give both ends, low first.",
            )
        )
    return dataclasses.replace(limit, low=low, high=high, basis="your own limit, from the sheet")
