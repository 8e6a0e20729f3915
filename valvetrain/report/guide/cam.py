"""The guide on camshaft, lash, heat, and the piston below."""

from valvetrain.report.guide.topic import HOT, TURNING, Topic, keys_in

__all__ = ["CAM_TOPICS"]

CAM_TOPICS = (
    Topic(
        name="lobe_lift",
        title="Lobe lift and the lobe's size",
        keys=("lobe.lift", "lobe.measured_lift", "lobe.base_radius", "lobe.width"),
        columns=("lobe_lift",),
        how=(
            "Dial on the tappet, or on a pushrod held down by hand, its stem in line with the tappet's "
            "travel.",
            "Turn the engine to the base circle (the dial stands still), set zero, turn on to the highest "
            "reading, on to the base circle again: it must come back to zero.",
            "`[lobe] lift` is what the lobe should have (new, or from the card); the column `lobe_lift` is "
            "what this valve's lobe has now.",
            "Base radius: half of the lobe's smallest diameter across the base circle.",
        ),
        slips=(
            "The dial's stem at an angle: it reads too much, by one over the cosine.",
            "Read at the valve: lobe lift is tappet rise.",
            "Worn noses do not show as lash, since lash is set on the base circle.",
        ),
        cautions=(TURNING,),
        drawing="lobe_lift",
        instead="The cam card's lobe lift tells what should be; a worn lobe then goes unseen.",
    ),
    Topic(
        name="lift_table",
        title="A lift table, read with dial and degree wheel",
        keys=("lobe.table", "lobe.read_at_valve", "lobe.table_lift", "lobe.table_lash"),
        columns=("cam_angle", "crank_angle", "tappet_lift", "valve_lift"),
        how=(
            "Set up as for lobe lift, with a degree wheel on the crank and a fixed pointer.",
            "Turn one way only. Write angle and lift every 2 cam degrees (4 at the crank), every degree "
            "near the ramps, from base circle to base circle.",
            "Name the columns for what they are: cam_angle or crank_angle, tappet_lift or valve_lift.",
            "Read at the valve? Say at which, and gross (no lash) or net (and with which lash).",
        ),
        slips=(
            "Turned back to catch a reading: the slack comes in. Go round again.",
            "Crank degrees written as cam degrees.",
            "Net taken for gross: the difference can exceed the wear that is judged.",
        ),
        cautions=(TURNING,),
        drawing="lobe_lift",
        instead="The card's durations (`valvetrain guide cam_card`).",
        table=("cam_angle,tappet_lift", "0,0.0000", "2,0.0002", "4,0.0008"),
    ),
    Topic(
        name="cam_card",
        title="What the cam card says",
        keys=(
            "lobe.durations",
            "durations.checking_lift",
            "durations.checked_at",
            "durations.duration",
            "durations.lash",
            "lobe.events",
            "events.checking_lift",
            "events.checked_at",
            "events.opens",
            "events.closes",
            "events.lash",
            "lobe.card_ratio",
            "lobe.card_valve_lift",
            "lobe.card_lift_is",
            "lobe.card_lash",
        ),
        how=(
            "Copy the durations, each with the lift at which it is read, and where: tappet or valve.",
            "Two durations at two different lifts at least: one alone does not give the lobe's shape.",
            "A figure at the valve needs the ratio it is for, and the lash.",
            "Events: intake opens before top and closes after bottom dead center; exhaust opens before "
            "bottom and closes after top. Minus when on the other side.",
        ),
        slips=(
            "Durations at different checking lifts compared.",
            "Valve lift from the card taken for lobe lift, or gross for net.",
        ),
        drawing="wheel",
        table=(
            "durations = [",
            '    { checking_lift = 0.006, checked_at = "tappet", duration = 262 },',
            '    { checking_lift = 0.050, checked_at = "tappet", duration = 206 },',
            "]",
        ),
    ),
    Topic(
        name="law",
        title="A lobe that is a motion law",
        keys=(
            "lobe.law",
            "lobe.rise_angle",
            "lobe.return_angle",
            "lobe.nose_dwell",
            "lobe.ramp_height",
            "lobe.ramp_angle",
            "lobe.closing_ramp_height",
            "lobe.closing_ramp_angle",
        ),
        how=(
            "For a cam that was designed by a law: its name and its angles in cam degrees, from the drawing.",
            "Ramp height and length are worth having for `lash` where the lobe comes from anywhere else, "
            "too; beside a cam card they say most of where the valve leaves its seat.",
        ),
        slips=("Crank degrees for cam degrees.",),
    ),
    Topic(
        name="centerline",
        title="Lobe centers, with the degree wheel",
        keys=("cam.intake_centerline", "cam.exhaust_centerline", "cam.lobe_separation", "tables.wheel"),
        columns=("checked_at", "opens", "closes"),
        how=(
            "Find top dead center with a positive stop: turn to it both ways, the middle of both readings "
            "is top.",
            "Dial on the tappet of cylinder 1. Note the wheel 0.050 in (1.27 mm) below full lift on both "
            "sides; the middle is the lobe's center.",
            "Intake counts in crank degrees after, exhaust before top dead center.",
            "Events read at a checking lift go into a table named in [tables] wheel, one row a valve.",
        ),
        slips=(
            "Top dead center by a screwdriver: a degree or two off.",
            "Turned backward onto a reading.",
            "The wheel slipped: check top again at the end.",
        ),
        cautions=(TURNING,),
        drawing="wheel",
        instead="The card's centerlines, if the cam is in as the card says.",
        table=("valve,checking_lift,checked_at,opens,closes", "1I,0.050,tappet,-12.5,21.0"),
    ),
    Topic(
        name="lash",
        title="Lash with a feeler",
        keys=("lash.wanted", "lash.lash", "lash.at", "lash.state", "rocker.locknut_gain"),
        columns=("lash",),
        how=(
            "Tappet on the base circle: turn the engine until this cylinder's other valve overlaps that of "
            "its companion, or look at the lobe. Cold means the engine stood overnight.",
            "Feeler between pad and tip (or where the maker says). The right blade drags lightly, the next "
            "size does not go.",
            "Tighten the locknut and read again: the nut adds about 0.001 in; what it adds is locknut_gain.",
            "In `[lash]` write what is wanted; the column `lash` is what was found.",
        ),
        slips=(
            "Set on the ramp, not on the base circle.",
            "A pad worn hollow: the blade bridges it and the true lash is greater. Set by turns "
            "(`valvetrain guide turns`).",
            "Lash at the pushrod taken for lash at the valve: the ratio lies between.",
        ),
        cautions=(TURNING,),
        drawing="feeler",
    ),
    Topic(
        name="turns",
        title="Lash by turns of the adjuster",
        keys=(),
        how=(
            "On the base circle screw the adjuster down until the lash is just gone, by the feel of the "
            "pushrod between two fingers.",
            "Back it off by lash / (pitch x ratio) turns; `valvetrain lash` gives the turns for every valve. "
            "Hold the screw and tighten the nut.",
        ),
        slips=("Zero lash overdone: the valve is held open.", "The screw turned along with the nut."),
        cautions=(TURNING,),
        drawing="turns",
    ),
    Topic(
        name="gross_lift",
        title="Valve lift with a dial",
        keys=("station.gross_lift",),
        columns=("net_lift", "gross_lift"),
        how=(
            "Dial on the retainer, its stem in line with the valve's. Zero on the closed valve.",
            "Lash taken to zero for the gross lift; with the lash set it is the net lift.",
            "Turn to full lift and read; back to zero. A light checking spring keeps the train from bending.",
        ),
        slips=(
            "The dial not in line with the stem.",
            "The real spring fitted: lift reads 0.01 to 0.04 in short by the bending of the train.",
        ),
        cautions=(TURNING,),
        drawing="valve_lift",
    ),
    Topic(
        name="hot_cold",
        title="A pair of lash readings, cold and hot",
        keys=("hot.cold_lash", "hot.hot_lash", "hot.wanted_hot_lash"),
        how=(
            "Set and note the lash of one intake and one exhaust valve cold.",
            "Run the engine until oil and water have been warm for a quarter of an hour. Stop it.",
            "Within a few minutes measure the same two valves again. The difference is what heat does.",
        ),
        slips=(
            "Measured with the engine running: the blade is hammered and reads wrong.",
            "Another valve, or the cover off so long that the head has cooled.",
            "The sign: lash may grow or shrink; iron engines do either.",
        ),
        cautions=(HOT, TURNING),
        drawing="hot_cold",
    ),
    Topic(
        name="expansion",
        title="The way of the lash from cold to hot: stretches and temperatures",
        keys=keys_in(
            "thermal",
            "construction cold_temperature cam_to_deck deck_to_stand seat_to_stand stand_height seat_to_tip "
            "tappet_height block_material head_material stand_material cam_material tappet_material "
            "pushrod_material valve_material block_expansion head_expansion stand_expansion "
            "cam_expansion tappet_expansion pushrod_expansion valve_expansion block_temperature "
            "head_temperature stand_temperature valve_temperature",
        ),
        how=(
            "Only where no pair of readings exists. Lengths with a caliper or from a drawing, to 1 % is "
            "enough.",
            "Materials from the list; temperatures as you estimate them, each with its doubt.",
            "Nothing known: `construction` alone gives the usual range.",
        ),
        slips=("Water temperature taken for the exhaust valve's.",),
        drawing="hot_cold",
    ),
    Topic(
        name="piston_clearance",
        title="Valve to piston, read with a dial",
        keys=("piston.readings", "piston.readings_lash"),
        columns=("crank_angle", "clearance"),
        how=(
            "Light checking spring on the valve, dial on the retainer. Degree wheel on the crank.",
            "At every 5 crank degrees around the top dead center of the overlap (minus before it), press the "
            "valve down by hand to the piston, read how far it goes, let it back.",
            "Note the lash with which it was read; 0 for none.",
        ),
        slips=("Only at top dead center: it is closest before (exhaust) or after (intake) it.",),
        cautions=(
            TURNING,
            "stop at the first resistance: a valve on the piston bends.",
        ),
        drawing="piston",
        table=("crank_angle,clearance", "-5,0.194", "0,0.166", "5,0.148"),
    ),
    Topic(
        name="piston",
        title="Piston, chamber and reliefs",
        keys=keys_in(
            "piston",
            "compression_ratio chamber_volume crown_volume gasket_bore gasket_thickness deck_clearance "
            "valve_recess relief_depth relief_floor valve_angle relief_radius relief_offset_along "
            "relief_offset_across head_thickness valve_spacing valves_between",
        ),
        how=(
            "Chamber and crown: plate with a hole, grease round the edge, oil from a burette.",
            "Deck clearance: dial over the crown at top dead center, on the pin's axis.",
            "Relief, valve recess and spacing with a depth caliper; the stem's angle from the drawing.",
            "Tight gasket thickness: measure a used one, or clay between head and deck.",
        ),
        slips=(
            "The piston rocks: read on the pin's axis.",
            "A dome is minus in crown_volume.",
            "A gasket measured before it is tight.",
        ),
        cautions=(TURNING,),
        drawing="piston",
    ),
)
