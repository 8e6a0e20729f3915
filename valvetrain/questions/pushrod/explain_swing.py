"""How the pushrod's angles and its clearance in the head come about, through the lift."""

from collections.abc import Mapping

from valvetrain.answers.explanation import Explanation, Plain
from valvetrain.questions.rocker.explain_linkage import ARMS, LINKAGE_NOTE, closed, risen

__all__ = ["SWUNG"]

_BALLS: Mapping[str, str | Plain] = {**ARMS, "l": "pushrod:length"}


def _place(which: str, what: str) -> Plain:
    """Return the share of lobe lift at which something is greatest or least."""
    meaning = f"share of lobe lift, of nine, at which it is {what}"
    return Plain(
        "pushrod", meaning, "fraction", lambda setup, result, index: float(getattr(result, which)[index])
    )


def _angle(name: str, doc: str, place: str, last: str) -> Explanation:
    """Angle of the pushrod where it is greatest."""
    return Explanation(
        name,
        "pushrod",
        doc,
        {**_BALLS, "S": "rocker:lobe_lift", "f": _place(place, "greatest")},
        (
            *closed(),
            ("s", "f*S"),
            *risen(),
            ("across", "e + b*cos(psi)"),
            ("along", "b*sin(psi) - y"),
            (name, last),
        ),
        "own derivation: loop closure, splay in three dimensions",
        f"Greatest over nine positions through the lobe's lift; here at the share f. {LINKAGE_NOTE}",
    )


SWUNG = (
    Explanation(
        "hole_clearance",
        "pushrod",
        "least clearance of the pushrod in the head's hole, through the lift",
        {
            **_BALLS,
            "S": "rocker:lobe_lift",
            "f": _place("hole_at", "least"),
            "H": "head.hole_diameter",
            "d": "pushrod.outside_diameter",
            "X": "head.hole_setback",
            "T": "head.hole_top",
            "B": "head.hole_bottom",
            "eta": "head.hole_angle",
            "o": "head.hole_offset",
        },
        (
            *closed(),
            ("s", "f*S"),
            *risen(),
            ("xl", "-e*cos(tau) - y*sin(tau)"),
            ("yl", "-e*sin(tau) + y*cos(tau)"),
            ("xu", "b*cos(phi + alpha) - xl"),
            ("yu", "b*sin(phi + alpha) - yl"),
            ("xb", "-X + (B - T)*tan(eta)"),
            ("low", "-e*sin(tau) + y0*cos(tau)"),
            ("span", "b*sin(phi0 + alpha) - low"),
            ("zt", "either(o, z*(-T - low)/span)"),
            ("zb", "either(o, z*(-B - low)/span)"),
            ("N", "sqrt((-X - xb)^2 + (B - T)^2 + (zt - zb)^2)"),
            ("R", "sqrt(xu^2 + yu^2 + z^2)"),
            ("cosine", "(xu*(-X - xb) + yu*(B - T) + z*(zt - zb))/(N*R)"),
            ("top", "((-X - xl)*(-X - xb) + (-T - yl)*(B - T) + zt*(zt - zb))/(N*R*cosine)"),
            ("bottom", "((xb - xl)*(-X - xb) + (-B - yl)*(B - T) + zb*(zt - zb))/(N*R*cosine)"),
            ("off_top", "sqrt((xl + top*xu + X)^2 + (yl + top*yu + T)^2 + (top*z - zt)^2)"),
            ("off_bottom", "sqrt((xl + bottom*xu - xb)^2 + (yl + bottom*yu + B)^2 + (bottom*z - zb)^2)"),
            ("hole_clearance", "H/2 - d/(2*abs(cosine)) - max(off_top, off_bottom)"),
        ),
        "own derivation: a straight rod through the two ends of a round hole, in three dimensions",
        "Least over nine positions through the lobe's lift; here at the share f. From the shaft's axis: xl, "
        "yl the lower ball; xu, yu the way from it to the upper; -X, -T and xb, -B the ends of the hole, zt "
        "and zb theirs along the shaft (as the closed pushrod runs, where not given); cosine of the tilt "
        f"between rod and hole; off: rod's axis from the hole's at its ends. {LINKAGE_NOTE}",
        "pushrod_hole_clearance",
    ),
    _angle(
        "tappet_angle_greatest",
        "greatest angle of the pushrod to the tappet's bore",
        "tappet_angle_at",
        "atan2(hypot(across, z), along)",
    ),
    _angle(
        "socket_angle_greatest",
        "greatest angle of the pushrod to square to the socket arm",
        "socket_angle_at",
        "atan2(hypot(along*sin(psi) + across*cos(psi), z), abs(across*sin(psi) - along*cos(psi)))",
    ),
)
