"""The guide on rocker, shaft and valve tip."""

from valvetrain.report.guide.topic import TURNING, Topic

__all__ = ["ROCKER_TOPICS"]

ROCKER_TOPICS = (
    Topic(
        name="setback",
        title="Setback: shaft to stem, square to the stem",
        keys=("shaft.setback", "shaft.diameter"),
        how=(
            "Take the rocker off and bolt the stands down with the shaft in them; the valve is closed.",
            "Measure the shaft's diameter with a micrometer, where no rocker has run.",
            "Lay the caliper square to the stem and measure over the far sides of shaft and stem, at any "
            "height.",
            "Take off half of the shaft's diameter and half of the stem's. Do it twice at one valve, and at "
            "a valve near each end.",
        ),
        slips=(
            "Measured level with the head's face instead of square to the stem: too long when the valve "
            "leans.",
            "Only one of the two half diameters taken off.",
            "A shaft not bolted down, or stands moved within the play of their bolts.",
        ),
        drawing="setback",
        instead="`valvetrain fit` works it out from dial readings and ink marks.",
    ),
    Topic(
        name="height",
        title="Height of the shaft over the tip, along the stem",
        keys=("shaft.height", "shaft.reference_stem_height", "shaft.stand_shim", "shaft.stand_angle"),
        how=(
            "Valve closed, stands bolted down with the shims that are there now; measure those shims.",
            "Lay a short straightedge across the tip, square to the stem, so that it reaches past the shaft.",
            "Measure from the straightedge to the top of the shaft, along the stem, and take off half of the "
            "shaft's diameter. Plus when the axis is above the tip, minus when below.",
            "Measure the stem height of that same valve: it is the reference, and the others follow from "
            "theirs.",
            "Where the stands lean from the stem, put a protractor on stand and stem: plus when their top "
            "leans toward the valve.",
        ),
        slips=(
            "The sign. A shaft axis below the tip is a minus number.",
            "Stem height of another valve as the reference: every height is then wrong by the difference.",
            "A lash cap forgotten: it is part of the tip if it is fitted in use.",
            "Pushrod length changed to move the pattern. On a shaft rocker only stand shims, valve length "
            "or tip height do that; the pushrod moves the adjuster.",
        ),
        drawing="height",
        instead="`valvetrain fit` works it out from ink marks and dial readings.",
    ),
    Topic(
        name="arms",
        title="The rocker's two arms, the angle between them, its ratio",
        keys=(
            "rocker.pad_arm",
            "rocker.socket_arm",
            "rocker.arm_angle",
            "rocker.nominal_ratio",
            "rocker.tip",
        ),
        how=(
            "Rocker on the bench. Put a plug that fits into its bore and a ball of the pushrod's size into "
            "the cup (or use the adjuster's own ball, set as in use).",
            "Socket arm: over the far sides of plug and ball, less half of each diameter.",
            "Pad arm: to the center of the pad's radius, not to its surface. Measure from the plug to the "
            "pad's surface in line with that center and take off the pad's radius; of a roller, measure to "
            "its axle.",
            "Angle: lay the rocker on paper, mark the three centers, draw both arms and measure the angle "
            "over the top of the shaft.",
            "The ratio on the box goes into nominal_ratio; it is used only where the arms are not known.",
        ),
        slips=(
            "The pad arm measured to the middle of the pad's face. It ends at the center of the radius.",
            "The socket arm taken with the adjuster screwed elsewhere than in use: its center moves.",
            "The nominal ratio believed: true ratios scatter within a set and change with the adjuster.",
        ),
        drawing="arms",
        instead="No flat setup: leave them out, and let `valvetrain fit` find them from lift readings.",
    ),
    Topic(
        name="pad",
        title="The pad: radius, width, place on the hub, wear",
        keys=(
            "rocker.pad_radius",
            "rocker.pad_width",
            "rocker.pad_position",
            "rocker.hub_width",
            "rocker.skew",
            "rocker.pad_outline",
            "rocker.feeler_width",
        ),
        how=(
            "Hold radius gauges against the pad in the plane of its travel until no light shows; of a "
            "roller, half of its diameter.",
            "Pad and hub width with a caliper, along the shaft; pad_position from the hub's front face to "
            "the middle of the pad.",
            "A worn or hollow pad: read its surface under a dial on a surface plate, or trace it enlarged, "
            "and give the points as a table. Then give the width of the feeler's blade as well.",
            "Twist: a straight wire taped across the pad, seen from above against the shaft.",
        ),
        slips=(
            "A gauge held across the pad instead of along its travel.",
            "A worn pad measured as if round: the middle of the wear is flatter.",
        ),
        drawing="arms",
        instead="Press the pad's side on paper, trace it, and compare with circles from a compass.",
    ),
    Topic(
        name="bore",
        title="Play of the rocker on its shaft and in the train",
        keys=("rocker.bore_clearance", "rocker.take_up"),
        how=(
            "Dry shaft: put a dial on the hub, lift and press the rocker by hand, and read the play. Or the "
            "difference of bore and shaft, measured with an inside micrometer and a micrometer.",
            "Take-up: with the lash at zero by feel, press the pad down by hand and read at the tappet how "
            "far it gives before the valve moves.",
        ),
        slips=("An oiled shaft hides play.", "Only the unworn side of the shaft measured: look underneath."),
    ),
    Topic(
        name="offset",
        title="Offset and end clearance: the rocker along its shaft",
        keys=(
            "station.offset",
            "station.end_clearance",
            "station.front_shims",
            "station.rear_shims",
            "shaft.name",
        ),
        how=(
            "Seen from above. Push the rocker into the middle of its end play.",
            "Measure from one edge of the pad to the same edge of the stem, at both sides; half of the "
            "difference is the offset. Plus when the pad stands toward the flywheel end.",
            "Or ink the tip, turn the engine, and measure from the middle of the mark to the middle of the "
            "tip.",
            "End clearance: all parts of the bay pushed to one end, feeler into the gap that is left.",
            "Write down the shims in front (toward the cylinder 1 end) and behind, as `0.060 + 0.015`.",
        ),
        slips=(
            "The sign: front is the end of cylinder 1, plus is toward the flywheel.",
            "Rocker pushed to one side while measuring: half of the end play goes into the offset.",
            "Shims measured as a pack that was not clean.",
        ),
        cautions=(TURNING,),
        drawing="offset",
    ),
    Topic(
        name="row",
        title="What stands on the shaft, from the front",
        keys=(
            "engine.shafts",
            "row.shaft",
            "row.front",
            "row.each",
            "row.rear",
            "row.spacing",
            "row.stand_width",
            "row.stand_shift",
            "row.collar_width",
            "row.spacer_least",
            "row.spacer_most",
            "row.spring_free_length",
            "row.spring_solid_length",
            "row.spring_least_length",
            "row.spring_most_length",
            "row.head_material",
            "row.shaft_material",
            "row.head_rise",
            "row.shaft_rise",
            "row.fixed_at",
        ),
        how=(
            "Several shafts: `[engine] shafts` names each with its cylinders, or its valves; measure each by "
            "itself, and give what differs in its own section, as [shaft.left].",
            "Walk along the shaft from the front and write what stands there: stand, collar, end, shim, "
            "spacer, spring, wave washer; I and E are the next rockers. What repeats is written once, in "
            "`each`.",
            "Spacing: caliper from the middle of one wall to the middle of the next (equal faces: left face "
            "to left face).",
            "Stand shift: unbolt, push the stand fore and aft, half of what it moves is the play either way.",
            "Springs and wave washers: length free, and pressed solid.",
            "For end clearance when warm: what head and shaft are made of, how much hotter they run, and "
            "which wall is doweled.",
        ),
        slips=(
            "Shims counted with the wrong rocker.",
            "A stand that is doweled taken for one that can move.",
            "An end clearance written down beside a spring that presses: there is none, leave it blank.",
        ),
        drawing="offset",
        table=(
            "[[row]]",
            'front = ["stand"]',
            'each = ["shim 0.060", "I", "spring", "E", "shim 0.060", "stand"]',
        ),
    ),
    Topic(
        name="tip",
        title="Valve stem, tip and head",
        keys=("valve.stem_diameter", "valve.tip_chamfer", "valve.head_diameter"),
        how=(
            "Stem diameter with a micrometer right under the tip, above the keeper grooves.",
            "Chamfer: its width seen from above: stem diameter less the flat's diameter, halved.",
            "Head diameter over the rim.",
        ),
        slips=(
            "The chamfer measured along its slope instead of from above.",
            "A lash cap fitted in use: its diameter and chamfer count, not the stem's.",
        ),
        drawing="ink",
    ),
    Topic(
        name="stem_height",
        title="Stem height: spring seat to valve tip",
        keys=("valve.stem_height",),
        how=(
            "Valve closed on its seat, spring off. Stand a height micrometer or a depth gauge on the spring "
            "seat's bare surface, shims out, along the stem.",
            "Read to the tip's flat, with the lash cap on if one is used. Every valve.",
        ),
        slips=(
            "One valve measured and the rest assumed: the commonest cause of trouble.",
            "Measured on top of a shim: the seat surface itself is the reference.",
            "Carbon on the seat: the valve stands high. Press it down and turn it.",
        ),
        drawing="stem_height",
        instead="A depth caliper over a bridge does, at its own uncertainty: write `1.900 +/- 0.003`.",
    ),
    Topic(
        name="ink",
        title="Witness band: what the pad marks on the tip",
        keys=(),
        columns=("near_edge", "far_edge", "closed_mark", "closed_mark_width"),
        how=(
            "Clean the tip, brush marker ink on it, let it dry. Set the lash; fit a light checking spring.",
            "Turn the engine two slow revolutions by hand. The pad wipes a band: its edges are where it "
            "touches first and where it reaches farthest.",
            "With a caliper from the rim of the tip on the shaft's side, measure to the near and the far "
            "edge. Write `near_edge` and `far_edge` into the readings for `valvetrain fit`, from = rim.",
            "A mark made with the valve closed, rocker rocked by hand, is `closed_mark`: it tells two "
            "answers apart.",
        ),
        slips=(
            "A band in the middle taken for right: width and middle are two results. A wide band in the "
            "middle is wrong, and a narrow one off the middle can be right.",
            "The band made with the starter: overswing widens it.",
            "Measured from the chamfer's inner edge instead of the rim.",
        ),
        cautions=(TURNING,),
        drawing="ink",
        table=("valve,reading,value,from", "1I,near_edge,0.163,rim", "1I,far_edge,0.178,rim"),
    ),
)
