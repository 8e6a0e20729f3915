"""How the rocker's numbers come about."""

from valvetrain.studies.explanation import Explanation, noted

__all__ = ["EXPLANATIONS"]

_DERIVED = "derived: a circular pad on a flat tip touches straight below the center of its radius"
_CLOSURE = (
    "loop closure of two links, as in R. L. Norton, Design of Machinery, chapter 4 (method; the rocker's "
    "form is derived)"
)
_TIP = {"a": "rocker.pad_arm", "r": "rocker.pad_radius", "h": "shaft.height", "L": "rocker:net_lift"}
_ARMS = {
    "a": "rocker.pad_arm",
    "r": "rocker.pad_radius",
    "h": "shaft.height",
    "g": "rocker:lash",
    "b": "rocker.socket_arm",
    "alpha": "rocker.arm_angle",
    "l": "pushrod.length",
    "z": "pushrod.splay",
    "e": "tappet.setback",
    "tau": "tappet.angle",
}
_ENDS = (
    ("x0", "sqrt(a^2 - (r - h)^2)"),
    ("x1", "sqrt(a^2 - (r - h - L)^2)"),
    ("far", "where(0 <= r - h <= L, a, max(x0, x1))"),
    ("near", "min(x0, x1)"),
)
_LIFTED = (
    ("p", "sqrt(l^2 - z^2)"),
    ("phi0", "asin((r + g - h)/a)"),
    ("psi0", "phi0 + alpha - tau"),
    ("y0", "b*sin(psi0) - sqrt(p^2 - (e + b*cos(psi0))^2)"),
    ("y", "y0 + s"),
    ("D", "hypot(e, y)"),
    ("psi", "acos((p^2 - b^2 - D^2)/(2*b*D)) - atan2(y, e)"),
    ("phi", "psi - alpha + tau"),
)


def _ratio(name: str, doc: str, share: str) -> Explanation:
    return Explanation(
        name,
        "rocker",
        doc,
        {**_ARMS, "L": "rocker:net_lift"},
        (
            ("p", "sqrt(l^2 - z^2)"),
            ("phi", f"asin((r - h - {share}*L)/a)"),
            ("psi", "phi + alpha - tau"),
            ("y", "b*sin(psi) - sqrt(p^2 - (e + b*cos(psi))^2)"),
            ("ratio", "a*cos(phi)*(b*sin(psi) - y)/(b*(e*sin(psi) + y*cos(psi)))"),
        ),
        _CLOSURE,
        "phi: pad arm from square to the stem; psi: socket arm, seen from the tappet's line; y: lower "
        "ball along that line.",
    )


def _tip(
    name: str, doc: str, last: str, symbols: dict[str, str] | None = None, check: str = "", note: str = ""
) -> Explanation:
    return Explanation(
        name,
        "rocker",
        doc,
        {**_TIP, **(symbols or {})},
        (*_ENDS, (name, last)),
        _DERIVED,
        note,
        check,
    )


_WEAR = "A measured pad (`pad_outline`) is followed point by point instead."

EXPLANATIONS = (
    Explanation(
        "gross_lift",
        "rocker",
        "what the valve would lift at no lash",
        {**_ARMS, "s": "rocker:lobe_lift"},
        (*_LIFTED, ("gross_lift", "a*(sin(phi0) - sin(phi))")),
        _CLOSURE,
        "A lift read with a dial (gross_lift in the table of valves) goes before it; without the arms it is "
        "nominal ratio times lobe lift.",
    ),
    Explanation(
        "net_lift",
        "rocker",
        "what the valve lifts: gross lift less lash",
        {"G": "rocker:gross_lift", "g": "rocker:lash"},
        (("net_lift", "max(G - g, 0)"),),
        "definition",
    ),
    Explanation(
        "mean_ratio",
        "rocker",
        "gross lift over lobe lift",
        {"G": "rocker:gross_lift", "s": "rocker:lobe_lift"},
        (("mean_ratio", "G/s"),),
        "definition",
    ),
    _ratio("ratio_at_opening", "pad drop per tappet rise with the lash just taken up", "0"),
    _ratio("ratio_at_half_lift", "pad drop per tappet rise at half lift", "0.5"),
    _ratio("ratio_at_full_lift", "pad drop per tappet rise at full lift", "1"),
    _tip("sweep_width", "range of the contact across the tip", "far - near", note=_WEAR),
    _tip(
        "sweep_share",
        "sweep width as a share of gross lift",
        "(far - near)/G",
        {"G": "rocker:gross_lift"},
        check="sweep_width",
    ),
    _tip(
        "sweep_middle", "middle of the sweep from the stem axis", "(far + near)/2 - w", {"w": "shaft.setback"}
    ),
    _tip(
        "contact_closed", "contact from the stem axis, lash just taken up", "x0 - w", {"w": "shaft.setback"}
    ),
    _tip("contact_full", "contact from the stem axis at full lift", "x1 - w", {"w": "shaft.setback"}),
    _tip(
        "chamfer_distance",
        "least distance from the contact to the tip's chamfer",
        "d/2 - c - max(abs(far - w), abs(near - w))",
        {"w": "shaft.setback", "d": "valve.stem_diameter", "c": "valve.tip_chamfer"},
        check="contact_on_tip",
    ),
    Explanation(
        "least_sweep_width",
        "rocker",
        "least sweep that this arm and lift allow",
        {"a": "rocker.pad_arm", "L": "rocker:net_lift"},
        (("least_sweep_width", "a*(1 - sqrt(1 - (L/(2*a))^2))"),),
        "derived: the arm square to the stem at half lift; about L^2/(8 a)",
    ),
    Explanation(
        "square_at_lift_fraction",
        "rocker",
        "fraction of net lift at which the arm is square to the stem",
        {"r": "rocker.pad_radius", "h": "shaft.height", "L": "rocker:net_lift"},
        (("square_at_lift_fraction", "(r - h)/L"),),
        "derived",
    ),
    Explanation(
        "stand_shim_change_for_least_sweep",
        "rocker",
        "stand shim to add (minus: take out) for the least sweep at this valve",
        {
            "r": "rocker.pad_radius",
            "h": "shaft.height",
            "L": "rocker:net_lift",
            "beta": "shaft.stand_angle",
        },
        (("stand_shim_change_for_least_sweep", "(r - L/2 - h)/cos(beta)"),),
        "derived: the arm square to the stem at half lift",
        "One stand shim serves every valve of a shaft: `rocker` says which one in stock suits the worst "
        "of them.",
    ),
    Explanation(
        "stand_shim_for_least_sweep",
        "rocker",
        "thickness under the stand, in all, for the least sweep at this valve",
        {"t": "shaft.stand_shim", "c": "rocker:stand_shim_change_for_least_sweep"},
        (("stand_shim_for_least_sweep", "t + c"),),
        "definition",
    ),
    Explanation(
        "stand_shim_change_for_centered_sweep",
        "rocker",
        "stand shim to add that brings the middle of the sweep onto the stem axis",
        {**_TIP, "w": "shaft.setback"},
        (),
        "derived",
        "Found by halving the interval in which the middle of the sweep crosses the stem axis; the "
        "smaller of two, or none where the arm does not suit the setback.",
    ),
    Explanation(
        "stand_shim_for_centered_sweep",
        "rocker",
        "thickness under the stand, in all, for a centered sweep",
        {"t": "shaft.stand_shim", "c": "rocker:stand_shim_change_for_centered_sweep"},
        (("stand_shim_for_centered_sweep", "t + c"),),
        "definition",
    ),
    Explanation(
        "lift_lost_to_height",
        "rocker",
        "gross lift that this rocker would gain at the height of its least sweep",
        {"G": "rocker:gross_lift", "c": "rocker:stand_shim_change_for_least_sweep"},
        (),
        _CLOSURE,
        "Gross lift by the linkage with the stand shim changed by c and the lash set again, less gross "
        "lift now.",
    ),
    noted(
        "rocker",
        "lobe_lift",
        "tappet rise off the base circle",
        "As found at this valve (lobe_lift in the table of valves), else as the lobe should have it: "
        "written, or the top of its table.",
        "measured",
    ),
    noted(
        "rocker",
        "lash",
        "gap between pad and tip on the base circle, along the stem",
        "As measured; at the pushrod, times the ratio on the base circle.",
        "measured",
    ),
    noted(
        "rocker",
        "stand_shim_change_for_square_at",
        "stand shim to add that has the arm square at the fraction of lift wanted",
        "(Pad radius less fraction times net lift less height) over the cosine of the stand's angle.",
        "derived: the arm square to the stem at that lift",
    ),
)
