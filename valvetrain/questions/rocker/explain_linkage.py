"""Steps that the explanations of rocker and pushrod share: the linkage, written out."""

from collections.abc import Mapping

from valvetrain.answers.explanation import Plain

__all__ = ["ARMS", "CLOSURE", "LINKAGE_NOTE", "TIP", "closed", "ratio_at", "risen"]

Steps = tuple[tuple[str, str], ...]

CLOSURE = (
    "own derivation: loop closure of two links, the method of R. L. Norton, Design of Machinery, chapter 4 "
    "(cited from memory); the rocker's form by the law of cosines"
)
LINKAGE_NOTE = (
    "p: pushrod as seen along the shaft; phi: pad arm from square to the stem; psi: socket arm, seen from "
    "the tappet's line; y: lower ball along that line, from its point nearest the shaft."
)

# pad's side, and the pushrod's
TIP: Mapping[str, str] = {"a": "rocker.pad_arm", "r": "rocker.pad_radius", "h": "shaft.height"}
ARMS: Mapping[str, str | Plain] = {
    **TIP,
    "g": "rocker:lash",
    "b": "rocker.socket_arm",
    "alpha": "rocker.arm_angle",
    "l": "pushrod.length",
    "z": "pushrod.splay",
    "e": "tappet.setback",
    "tau": "tappet.angle",
}


def closed(lash: str = "g") -> Steps:
    """On the base circle: p, phi0, psi0, y0."""
    return (
        ("p", "sqrt(l^2 - z^2)"),
        ("phi0", f"asin((r + {lash} - h)/a)"),
        ("psi0", "phi0 + alpha - tau"),
        ("y0", "b*sin(psi0) - sqrt(p^2 - (e + b*cos(psi0))^2)"),
    )


def risen(rise: str = "s", arm: str = "b", angle: str = "alpha", rod: str = "p") -> Steps:
    """With the tappet risen from y0: y, D, psi, phi."""
    return (
        ("y", f"y0 + {rise}"),
        ("D", "hypot(e, y)"),
        ("psi", f"acos(({rod}^2 - {arm}^2 - D^2)/(2*{arm}*D)) - atan2(y, e)"),
        ("phi", f"psi - {angle} + tau"),
    )


def ratio_at(rise: str, name: str) -> Steps:
    """Pad drop per tappet rise where the pad's center stands `rise` above the shaft."""
    return (
        ("p", "sqrt(l^2 - z^2)"),
        ("phi", f"asin(({rise})/a)"),
        ("psi", "phi + alpha - tau"),
        ("y", "b*sin(psi) - sqrt(p^2 - (e + b*cos(psi))^2)"),
        (name, "a*cos(phi)*(b*sin(psi) - y)/(b*(e*sin(psi) + y*cos(psi)))"),
    )
