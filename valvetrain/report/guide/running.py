"""The guide on masses, stiffness, wear, oil and the record."""

from valvetrain.report.guide.topic import HOT, SPRINGS, TURNING, Topic, keys_in

__all__ = ["RUNNING_TOPICS"]

RUNNING_TOPICS = (
    Topic(
        name="weights",
        title="Weights of what moves",
        keys=(
            "valve.mass",
            *keys_in(
                "masses",
                "retainer_mass keeper_mass spring_mass pushrod_mass tappet_mass rocker_mass rocker_inertia",
            ),
        ),
        how=(
            "Clean and dry, on a kitchen or parts scale that shows single grams; zero it first.",
            "Both keepers together; all springs of one valve with dampers; rocker with adjuster and nut.",
            "rocker_inertia from a drawing or a swing test; left out it follows from mass and arms.",
        ),
        slips=(
            "Pounds and ounces mixed: 1 oz is 0.0625 lb.",
            "One part weighed near the scale's bottom end.",
        ),
        instead="Weigh twelve alike together and divide. Or give sizes: `valvetrain guide mass_sizes`.",
    ),
    Topic(
        name="mass_sizes",
        title="Sizes and materials, where nothing was weighed",
        keys=keys_in(
            "masses",
            "valve_length valve_material retainer_hub retainer_material pushrod_material tappet_diameter "
            "tappet_length tappet_wall tappet_face tappet_material rocker_height rocker_width "
            "rocker_hub_width rocker_material",
        ),
        how=("A caliper and the drawing. The result is an estimate, and marked so.",),
    ),
    Topic(
        name="two_springs",
        title="Give of the train: lift with a light and with the real spring",
        keys=(
            "control.light_spring_lift",
            "control.real_spring_lift",
            "control.light_spring_load",
            "control.train_stiffness",
            "control.shaft_bore",
            "control.shaft_span",
        ),
        how=(
            "Dial on the retainer, lash as set. Read the full lift with a light checking spring fitted.",
            "Change to the real spring, touch neither dial nor lash, and read again: it is less by what the "
            "train gives. Three times each.",
            "The light spring's load at that lift, from the tester.",
            "Without this reading: the shaft's oil bore and the distance of the stands.",
        ),
        slips=("The lash changed between the readings.", "Retainer pulled crooked: read on both sides."),
        cautions=(SPRINGS, TURNING),
        drawing="valve_lift",
    ),
    Topic(
        name="judgments",
        title="Friction, damping and what counts as a bounce",
        keys=keys_in(
            "control",
            "lobe_stiffness seat_stiffness damping_ratio spring_share least_gap least_bounce ramp_share "
            "tip_friction shaft_friction guide_drag",
        ),
        how=("Not measured in a shop. Left out, the values named beside each key are taken.",),
    ),
    Topic(
        name="crown",
        title="Crown of the tappet, taper of the lobe",
        keys=(
            *keys_in(
                "contact",
                "face_form crown_rise crown_gap_1 crown_gap_2 crown_span taper_front taper_rear "
                "taper_distance bore_offset bore_lean tappet_hardness",
            ),
            "lobe.taper",
        ),
        how=(
            "Crown: tappet in a V block, fine dial across the face: middle less the ends of the span. Or a "
            "straightedge over the middle, rocked until the gaps at both ends of the span are alike.",
            "Taper: fine dial on the base circle near the lobe's front edge, then near its rear edge; more "
            "is larger.",
            "Bore offset: middle of the lobe from the middle of the tappet, along the camshaft.",
            "Hardness on the face's rim, by a tester that leaves no deep mark.",
        ),
        slips=(
            "Crown read on a worn face: it may be hollow by now.",
            "Taper read across a worn track.",
        ),
        drawing="crown",
    ),
    Topic(
        name="wear",
        title="Bores, guide and what rubs",
        keys=keys_in(
            "contact",
            "bearing_width bushing_bore shaft_at_rocker oil_hole_angle guide_length tip_over_guide "
            "stem_in_guide seat_radius",
        ),
        how=(
            "Inside micrometer in the rocker's bore at its widest; micrometer on the shaft underneath, at "
            "its thinnest.",
            "Stem in guide: valve lifted a little off its seat, dial on the rim, rocked both ways; halve it "
            "for the leverage of the rim, or measure stem and guide.",
            "Oil hole: the direction in which it opens under the rocker, 0 toward the valve, 90 up the stem.",
        ),
        slips=("Shaft measured at the top, where it does not wear.",),
    ),
    Topic(
        name="surfaces",
        title="Materials, roughness and friction of what rubs",
        keys=keys_in(
            "contact",
            "lobe_material lobe_modulus lobe_poisson tappet_modulus tappet_poisson pad_modulus tip_modulus "
            "lobe_roughness tappet_roughness friction seat_friction",
        ),
        how=(
            "From the maker, a table or a roughness comparison plate. Rq is about 1.25 times Ra.",
            "Left out, usual values are taken; only comparisons are then worth reading.",
        ),
    ),
    Topic(
        name="oil",
        title="The oil",
        keys=keys_in(
            "oil",
            "grade viscosity_40 viscosity_100 viscosity_index density temperature pressure_viscosity "
            "gallery_pressure",
        ),
        how=(
            "Grade from the can, viscosities at 40 and 100 degC from its data sheet.",
            "Pressure at the gallery with a gauge on a tee, oil warm, at the speed in question.",
        ),
        slips=("Sender and dash gauge believed: compare them once with a test gauge.",),
        cautions=(HOT,),
    ),
    Topic(
        name="oil_passages",
        title="The oil's way to the rockers",
        keys=("oil.network", "oil.layouts"),
        columns=("passage", "kind", "layout"),
        table=(
            "passage,kind,from,to,diameter,length,clearance,worn_clearance,valve",
            "riser,pipe,gallery,shaft 1,0.187,7.5,,,",
            "hole 1I,hole,shaft 1,bore 1I,0.094,,,,",
            "bushing 1I,leak,bore 1I,open air,0.875,0.45,0.002,0.008,1I",
            "shaft 1-2,pipe,shaft 1,shaft 2,0.187,1.9,,,",
        ),
        how=(
            "Walk from the gallery to the rockers and give every hole, pipe, jet and leak a row: from where "
            "to where, diameter (drill shanks are good plug gauges), length; bushings with their clearance "
            "on diameter, new and worn.",
            "Places are names of your own, alike where passages meet. 'gallery' is held at gallery_pressure; "
            "leaks and jets end at 'open air'.",
            "A pipe needs diameter and length, a hole or jet its diameter, a leak (a bushing) the shaft's "
            "diameter, the bushing's length and clearance. Known better than usual? Columns eccentricity (of "
            "a leak: 0 centered, 1 touching), coefficient (of a hole or jet), loss, roughness (of a pipe).",
            "Layouts to compare: a row a change (layout, passage, change, value). A passage that one layout "
            "only has stands in the first table with fitted = no.",
        ),
        slips=("The smallest hole missed: one drilling often feeds the whole shaft.",),
    ),
    Topic(
        name="record",
        title="The record of inspections",
        keys=keys_in(
            "record",
            "engine inspection_interval inspection_distance inspection_days",
        ),
        columns=("lash_found", "lash_left", "turned", "hours", "distance", "date", "state"),
        how=(
            "At every inspection: hours or distance or date, lash found before it is touched, lash left, "
            "cold or hot. `valvetrain log` adds it.",
            "Mark the pushrods: a mark that stays put says that the tappet does not turn.",
        ),
        slips=("Only the lash left written down: what it had become is lost.",),
        cautions=(TURNING,),
    ),
)
