"""Every default limit as one reads it in the trade's words, and a sheet that leads its quantity across it.

The figures are typed from the basis that each limit states, apart from the package's own table.
"""

from dataclasses import dataclass, field
from typing import Any

INF = float("inf")
COMMON = "common practice, no source"


@dataclass(frozen=True)
class Case:
    """One limit: range in a unit, basis, the question whose result field it judges, and a knob per valve."""

    id: str
    low: float
    high: float
    unit: str
    basis: str
    question: str
    result: str
    knob: str
    knob_range: tuple[float, float]
    changes: dict[str, Any] = field(default_factory=dict)
    in_check: bool = True
    role: str = "intake"
    blank: str = ""  # what is left out where the knob has a substitute
    silent: bool = False  # nothing is judged where the knob is not given
    known: str = ""  # doubt written at the knob, where the instrument's is too wide to judge by
    anchors: int = 0  # further valves that stay as they are, where valves are held against each other


WIRE = {"wire_diameter": 4.0, "coil_diameter": 26.0, "active_coils": 6.0, "shear_modulus": 80000.0,
        "material": "chrome-silicon", "surface": "unpeened"}  # fmt: skip
SHAPES = {"retainer_diameter": 26.0, "retainer_below_tip": 9.0, "retainer_depth": 4.0,
          "seal_diameter": 12.0,
          "rocker_depth": 4.0, "hub_diameter": 30.0, "stand_width": 22.0, "stand_top": 25.0}  # fmt: skip
HEAD = {"hole_diameter": 16.0, "hole_setback": 24.0, "hole_top": 45.0, "hole_bottom": 110.0}
PISTON = {"gasket_thickness": 0.8, "deck_clearance": 0.2, "valve_recess": 0.2, "relief_depth": 2.5,
          "relief_floor": "parallel", "relief_radius": 22.0, "valve_spacing": 42.0}  # fmt: skip
MASSES = {"retainer_mass": 20.0, "keeper_mass": 5.0, "spring_mass": 75.0, "pushrod_mass": 62.0,
          "tappet_mass": 88.0,
          "rocker_inertia": 38.0}  # fmt: skip
CONTACT = {"lobe_modulus": 200e3, "tappet_modulus": 120e3, "taper_front": 0.0, "taper_rear": 0.02,
           "taper_distance": 12.0, "bore_offset": 0.5, "bearing_width": 20.0, "oil_hole_angle": 60.0,
           "guide_length": 45.0, "tip_over_guide": 38.0}  # fmt: skip
NO_RAMP = {"ramp_height": None, "ramp_angle": None}

CASES = (
    Case("sweep_width", -INF, 12.0, "%", COMMON + " (9 to 12 % of gross lift)", "rocker", "sweep_share",
         "shaft.height", (3.2, 9.5)),
    Case("sweep_over_least", -INF, 1.4, "", "our judgment, no source: as a shaft a fifth of half the lift",
         "rocker", "sweep_over_least", "shaft.height", (2.0, 8.0)),
    Case("square_at", 100 / 3, 200 / 3, "%", COMMON + " (between one third and two thirds of lift;",
         "rocker", "square_at_lift_fraction", "shaft.height", (-1.0, 6.0)),
    Case("tip_height", -0.020, 0.020, "in", COMMON + " (0.020 in, as installed heights valve to valve)",
         "rocker", "tip_height", "valve.stem_height", (47.0, 51.0), anchors=8),
    Case("lift_lost", -INF, 2.0, "%", "our judgment, no source: more than a lobe's wear at which to watch it",
         "rocker", "lift_lost_share", "shaft.height", (0.0, 12.0), {"rocker": {"arm_angle": 195.0}},
         silent=True, known="+/- 0.02"),
    Case("contact_on_tip", 0.0, INF, "in", "geometry: the contact must not reach the tip's chamfer",
         "rocker",
         "chamfer_distance", "shaft.setback", (28.0, 38.0)),
    Case("adjuster_reserve", 0.8 / 25.4, INF, "in", "our judgment, no source: about a turn of thread",
         "pushrod",
         "reserve", "adjuster.exposure", (0.3, 3.0)),
    Case("pushrod_column_factor", 3.0, INF, "", "our judgment, no source: what a straight column leaves",
         "pushrod",
         "column_factor", "pushrod.peak_load", (1500.0, 12000.0),
         {"pushrod": {"yield_strength": 500.0, "elastic_modulus": 205000.0}},
         blank="pushrod.yield_strength"),
    Case("pushrod_hole_clearance", 0.0, INF, "in", "geometry: the pushrod must not touch the head",
         "pushrod",
         "hole_clearance", "head.hole_diameter", (9.0, 24.0),
         {"head": HEAD, "tappet": {"angle": 1.0}, "pushrod": {"splay": 0.0}}),
    Case("rocker_to_retainer", 0.050, INF, "in", COMMON + " (0.050 in)", "interference",
         "rocker_to_retainer",
         "shapes.retainer_below_tip", (0.3, 4.0), {"shapes": SHAPES}),
    Case("retainer_to_seal", 0.050, INF, "in", COMMON + " (0.050 in)", "interference", "retainer_to_seal",
         "spring.retainer_to_seal", (9.0, 16.0), {"shapes": SHAPES}),
    Case("rocker_to_stand", 0.0, INF, "in", "geometry: the rocker must not touch its stand", "interference",
         "rocker_to_stand", "shapes.stand_top", (2.0, 30.0), {"shapes": SHAPES}),
    Case("contact_share", 90.0, INF, "%", COMMON + " (no number in print; nine tenths", "center",
         "contact_share",
         "offset", (0.0, 4.0)),
    Case("end_clearance", -INF, 0.008, "in", COMMON + " (act above 0.008 in)", "center",
         "end_clearance_before",
         "end_clearance", (0.08, 0.35)),
    Case("bore_clearance", -INF, 0.005, "in", COMMON + " (bush or replace at 0.003 to 0.006 in)", "wear",
         "bore_clearance", "rocker.bore_clearance", (0.04, 0.25), {"contact": CONTACT}, False),
    Case("seat_load", 65.0, 160.0, "lbf", COMMON + " (flat tappets: mild 65 to 80 lbf, under 160 lbf)",
         "spring",
         "seat_load", "spring.installed_height", (39.0, 48.5), {"spring": {"rate": 60.0}}),
    Case("open_load", -INF, 385.0, "lbf", COMMON + " (flat tappets: under 385 lbf)", "spring", "open_load",
         "spring.rate", (60.0, 110.0)),
    Case("bind_clearance", 0.050, INF, "in", COMMON + " (0.050 to 0.060 in at full lift)", "spring",
         "bind_clearance", "spring.solid_height", (26.0, 33.0)),
    Case("installed_height_deviation", -0.020, 0.020, "in", COMMON + " (+-0.020 in valve to valve)",
         "spring",
         "installed_height_deviation", "spring.installed_height", (39.5, 43.0), anchors=8),
    Case("retainer_clearance", 0.050, INF, "in", COMMON + " (0.050 in)", "spring", "retainer_clearance",
         "spring.retainer_to_seal", (9.0, 14.0)),
    Case("guide_clearance", 0.050, INF, "in", COMMON + " (0.050 in)", "spring", "guide_clearance",
         "spring.retainer_to_guide", (9.0, 14.0)),
    Case("goodman_safety", 1.0, INF, "", "Goodman line through Zimmerli's endurance (Shigley", "spring",
         "stress.spring/goodman_safety", "spring.rate", (15.0, 80.0), {"spring": WIRE},
         blank="spring.wire_diameter"),
    Case("solid_stress", -INF, 65.0, "%",
         "Shigley, Mechanical Engineering Design, allowable stress of springs",
         "spring", "stress.spring/solid_stress", "spring.solid_height", (10.0, 32.0),
         {"spring": {**WIRE, "free_length": 58.0}}),
    Case("surge_order", 10.0, INF, "", COMMON + " (10 to 13; Shigley asks 15 to 20", "spring",
         "stress.spring/surge_order", "spring.active_coils", (5.0, 14.0), {"spring": WIRE}),
    Case("ramp_left", 0.0, INF, "in",
         "geometry: the lash must be taken up and given back on the cam's ramps", "lash",
         "ramp_left", "lash", (0.2, 0.7)),
    Case("hot_lash", 0.0, INF, "in", "geometry: without lash the valve is held open", "lash", "hot_lash",
         "lash",
         (0.05, 0.4), {"hot": {"cold_lash": 0.40, "hot_lash": 0.22}}),
    Case("intake_piston_clearance", 0.080, INF, "in", COMMON + " (0.080 in; 0.060 and 0.040 in",
         "clearance",
         "judged", "piston.relief_depth", (0.2, 9.0), {"piston": PISTON, "lobe": NO_RAMP}),
    Case("exhaust_piston_clearance", 0.100, INF, "in", COMMON + " (0.100 in; 0.060 and 0.040 in",
         "clearance",
         "judged", "piston.relief_depth", (0.2, 9.0), {"piston": PISTON, "lobe": NO_RAMP}, True, "exhaust"),
    Case("relief_clearance", 0.0, INF, "in", "geometry: the valve head must not reach the relief's wall",
         "clearance",
         "relief_gap", "piston.relief_radius", (18.0, 20.0), {"piston": PISTON}, silent=True),
    Case("lash_deviation", -0.004, 0.004, "in", COMMON + " (+-0.004 in is a usual tuning window)", "", "",
         "lash",
         (0.15, 0.45), {"lash": {"intake": 0.3}}),
    Case("lobe_wear", -INF, 0.005, "in", COMMON + " (watch at 0.003 in, act at 0.005 to 0.010 in)", "", "",
         "lobe_lift", (6.75, 6.999), {"lobe": {"lift": 7.0}}),
    Case("control_margin", 0.0, INF, "%",
         "geometry: the tappet must not leave the lobe below the redline", "control",
         "control_margin", "valve.mass", (60.0, 1200.0),
         {"masses": MASSES, "valve": {"mass": 100.0}, "engine": {"redline": 3600}, "lobe": NO_RAMP}),
    Case("break_in_margin", 0.0, INF, "%", "mechanics: below it the lobe would have to pull", "", "",
         "valve.mass",
         (60.0, 1200.0),
         {"masses": MASSES, "valve": {"mass": 100.0}, "engine": {"break_in_speed": 3000}, "lobe": NO_RAMP,
          "inner_spring": {"rate": 12.0, "free_length": 50.0, "solid_height": 22.0}}),
    Case("lobe_curvature", 0.0, INF, "in", "geometry: at zero the lobe comes to a point", "wear",
         "lobe_curvature",
         "lobe.base_radius", (8.0, 40.0), {"contact": CONTACT, "lobe": NO_RAMP}, False),
    Case("face_margin", 0.0, INF, "in", "geometry: the contact must stay on the tappet's face", "wear",
         "face_margin",
         "tappet.face_diameter", (16.0, 45.0), {"contact": CONTACT, "lobe": NO_RAMP}, False),
    Case("lobe_edge_margin", 0.0, INF, "in", "geometry: the contact must not reach the lobe's edge", "wear",
         "lobe_edge_margin", "lobe.width", (6.0, 24.0), {"contact": CONTACT, "lobe": NO_RAMP}, False),
    Case("tip_edge_margin", 0.0, INF, "in",
         "geometry: the loaded band must stay inside the tip's chamfer", "wear",
         "tip_edge_margin", "shaft.setback", (28.0, 38.0), {"contact": CONTACT, "lobe": NO_RAMP}, False),
    Case("lobe_taper", 0.0007, 0.002, "in", COMMON + " (0.0007 to 0.002 in across the lobe)", "wear",
         "lobe_taper",
         "contact.taper_rear", (0.005, 0.09), {"contact": CONTACT}, False),
    Case("crown_radius", 59.0, 100.0, "in", COMMON + " (59 to 100 in)", "wear", "crown_radius",
         "tappet.crown_radius", (1000.0, 3500.0), {"contact": CONTACT}, False, known="+/- 4"),
    Case("tappet_hardness", 51.0, INF, "HRC", COMMON + " (51 HRC at least, above 56 for racing)", "wear",
         "tappet_hardness", "contact.tappet_hardness", (44.0, 62.0), {"contact": CONTACT}, False),
    Case("stem_in_guide", -INF, 0.006, "in", COMMON + " (limit 0.003 to 0.006 in)", "wear", "stem_in_guide",
         "contact.stem_in_guide", (0.03, 0.25), {"contact": CONTACT}, False),
    Case("oil_hole_clear", 60.0, INF, "deg", COMMON + " (the loaded arc reaches 60 degrees to each side)",
         "wear",
         "hole_apart", "contact.oil_hole_angle", (-80.0, 60.0), {"contact": CONTACT}, False),
)  # fmt: skip
