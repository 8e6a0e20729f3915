"""The rubbing pairs as tables: lobe on tappet, what turns it, and the pairs beyond the pushrod."""

import math
from collections.abc import Iterator

from valvetrain.answers.table import Block, Sentence, valve_table, verdicts_of
from valvetrain.answers.verdict import Check
from valvetrain.questions.wear.study import WearResult, spread_in_words
from valvetrain.setup.units import shown, shown_spread, written_unit

__all__ = ["wear_tables"]

_TAPPET = {"lobe_curvature", "contact_stress", "face_margin", "lobe_edge_margin"}
_FORM = {"lobe_taper", "crown_radius", "tappet_hardness", "rotation_arm"}


def wear_tables(result: WearResult, checks: list[Check], system: str) -> Iterator[Block]:
    """Say lobe on tappet, what turns it, and the pairs beyond the pushrod."""
    length, stress = written_unit("length", system), written_unit("pressure", system)
    fastest = max(result.rpm)

    def verdicts(names: set[str] | None) -> tuple[str, ...]:
        known = _TAPPET | _FORM
        own = [check for check in checks if (check.id in names if names else check.id not in known)]
        judged = {check.valve for check in own}
        # Nothing judged is never a pass.
        return tuple(
            verdict if valve in judged else ""
            for valve, verdict in zip(result.valves, verdicts_of(own, result.valves), strict=True)
        )

    yield valve_table(
        f"Lobe on tappet, to {fastest:.0f} rpm: stress in {stress}, lengths in {length}, film in "
        f"{written_unit('roughness', system)}, heat in {'degF' if system == 'inch' else 'degC'}",
        result.valves,
        [
            ("nose stress, slow", result.nose_stress),
            ("peak stress", result.peak_stress),
            ("contact", [_short(each) for each in result.contact]),
            ("least radius of lobe", result.lobe_curvature),
            ("nose film at idle", result.film_at_nose),
            ("over rough- ness", result.film_ratio_nose),
            ("heat rise", result.flash),
            ("rim margin", result.face_margin),
            ("edge margin", result.lobe_edge_margin),
        ],
        system,
        verdicts(_TAPPET),
    )
    yield from _notes(result, system)
    yield valve_table(
        f"What turns the tappet, and form as measured: lengths in {length}",
        result.valves,
        [
            ("lobe taper", result.lobe_taper),
            ("crown radius", result.crown_radius),
            ("lever arm", result.rotation_arm),
            ("rear side goes", [{1: "with lobe", -1: "against"}.get(s, "-") for s in result.rotation_sense]),
            ("drive over seat", result.rotation_strength),
            ("in the way", [_names(each) for each in result.obstacles]),
            ("lift against set", result.lift_deviation),
            ("hardness HRC", result.tappet_hardness),
        ],
        system,
        verdicts(_FORM),
    )
    for role, (spread, repeats) in result.lift_spread.items():
        if math.isfinite(spread):
            own = [
                value
                for value, each in zip(result.lift_deviation.value, result.roles, strict=True)
                if each == role and math.isfinite(value)
            ]
            told = spread_in_words(spread, repeats, len(own))
            word = (
                "more than" if told == "more" else "within what" if told == "within" else "hardly more than"
            )
            again = (
                " Whether the lobes differ cannot be told from that: measure each again, and take the mean."
                if told == "unsure"
                else ""
            )
            yield Sentence(
                f"{role} lobes spread {shown_spread(spread, 'length', system)} in lift, {word} the dial "
                f"repeats ({shown_spread(repeats, 'length', system)}).{again}"
            )
    pairs = result.pairs
    yield valve_table(
        f"Tip, guide and shaft, greatest to {fastest:.0f} rpm: stress in {stress}, force in "
        f"{written_unit('force', system)}, speed in {written_unit('speed', system)}, lengths in {length}",
        result.valves,
        [
            ("pad on tip", pairs.tip_stress),
            ("sliding", pairs.tip_sliding),
            ("to chamfer", pairs.tip_edge_margin),
            ("on guide", pairs.guide_side),
            ("in guide", result.stem_in_guide),
            ("bore on shaft", pairs.shaft_pressure),
            ("sliding there", pairs.shaft_sliding),
            ("bore clear- ance", result.bore_clearance),
            ("load to hole deg", pairs.hole_apart),
        ],
        system,
        verdicts(None),
    )


def _notes(result: WearResult, system: str) -> Iterator[Block]:
    """Say what the figures rest on, and the loads seen elsewhere as context."""
    lines = []
    known = [each for each in result.peak_rpm.value.tolist() if not math.isnan(each)]
    if known:
        low, high = shown(180e3 * 6894.757, "pressure", system), shown(250e3 * 6894.757, "pressure", system)
        rpm = max(set(known), key=known.count)
        lines.append(
            "Film and heat are single model values without a doubt of their own, and what a dial left "
            "unsure of the lobe's curve ripples them: for comparing, not for a limit. The doubt of the "
            "greatest stress is that of the lobe's radius there."
        )
        lines.append(
            f"Greatest stress falls at {rpm:.0f} rpm. No stress limit is judged unless [limits] "
            f"contact_stress gives your own; {low} to {high} are quoted as loads seen, not as limits."
        )
    if result.rollers:
        lines.append(f"{', '.join(result.rollers)}: roller tappets, whose face is not studied here.")
    if any(result.entrainment_zero):
        lines.append(
            "Entrainment passes through zero on both sides of the nose: no steady film there; rotation and "
            "the squeezed oil carry it."
        )
    regimes = sorted({each for each in result.film_regime if each != "unknown"})
    if regimes:
        lines.append(f"Film at the nose, idling: {', '.join(regimes)} (under 1 boundary, 1 to 3 mixed).")
    elif math.isnan(result.oil.dynamic):
        lines.append(f"No film: {result.oil.basis}.")
    if result.motion.masses_missing:
        lines.append(
            f"Loads at speed are not known for {', '.join(result.motion.masses_missing)}: masses are missing "
            "(see [masses]). Spring load only."
        )
    asked = {key: None for keys in result.missing for key in keys}
    if asked:
        lines.append(f"Stress needs: {', '.join(asked)}.")
    for line in lines:
        yield Sentence(line)


def _short(contact: str) -> str:
    return {"cut off by the lobe's edge": "cut off", "no Hertz contact": "none", "": "-"}.get(
        contact, contact
    )


def _names(obstacles: tuple[tuple[str, str], ...]) -> str:
    names = [name for name, _ in obstacles]
    return "-" if "unmeasured" in names else "; ".join(names) or "nothing"
