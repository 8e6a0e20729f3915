"""The guide on pushrod, adjuster, tappet, and the parts that pass close by."""

from valvetrain.report.guide.topic import SPRINGS, TURNING, Topic

__all__ = ["TRAIN_TOPICS"]

TRAIN_TOPICS = (
    Topic(
        name="pushrod",
        title="Pushrod length and size",
        keys=(
            "pushrod.length",
            "pushrod.stated_length",
            "pushrod.convention",
            "pushrod.lower_ball",
            "pushrod.upper_ball",
            "pushrod.gauge_diameter",
            "pushrod.oil_hole",
            "pushrod.outside_diameter",
            "pushrod.wall",
            "pushrod.splay",
            "pushrod.yield_strength",
            "pushrod.elastic_modulus",
            "pushrod.peak_load",
        ),
        how=(
            "Length is between the centers of the two balls: over both ends less half of each ball.",
            "A cup on top: put the adjuster's ball into it, measure over that ball and the lower end, take "
            "off half of each ball.",
            "A bought length goes into stated_length with its convention and both balls; the sheet turns it.",
            "Splay: how far one end stands from the other along the shaft, seen from the front of the head.",
            "Wall, strength and modulus from the seller.",
        ),
        slips=(
            "Two conventions mixed: over the balls is longer than between centers by a whole ball.",
            "The oil hole's chamfer: a caliper's tip falls into it.",
        ),
        drawing="pushrod",
    ),
    Topic(
        name="checking_pushrod",
        title="The length wanted, with an adjustable checking pushrod",
        keys=("pushrod.checking_length", "pushrod.checking_turns", "pushrod.checking_pitch"),
        how=(
            "Adjuster screwed to where you want it, valve closed, tappet on the base circle.",
            "Turn the checking pushrod out until the lash is just taken up; count the turns from fully in.",
            "Give its length fully in, between ball centers, the turns, and what a turn brings.",
        ),
        slips=(
            "Tightened until the valve lifts: stop at the first drag.",
            "Turns counted from another start.",
        ),
        cautions=(TURNING,),
        drawing="pushrod",
    ),
    Topic(
        name="adjuster",
        title="Adjuster: thread showing, thread length, pitch",
        keys=(
            "adjuster.exposure",
            "adjuster.exposure_wanted",
            "adjuster.exposure_before",
            "adjuster.thread_length",
            "adjuster.boss_thickness",
            "adjuster.locknut_height",
            "adjuster.axis_lean",
            "rocker.thread_pitch",
        ),
        how=(
            "Lash set, locknut tight. With a depth caliper measure the thread showing under the rocker, on "
            "the pushrod's side, at every valve.",
            "Whole threaded length, thickness of the rocker's boss and height of the nut, once.",
            "Pitch: a thread gauge; 28 threads to the inch are 1/28 in = 0.0357 in.",
            "Lean: the screw's axis against a square on the socket arm; plus when its ball leans away from "
            "the shaft.",
        ),
        slips=(
            "The thread on the nut's side measured.",
            "exposure_before guessed: leave it out if not known.",
        ),
        drawing="turns",
    ),
    Topic(
        name="tappet",
        title="Tappet: line, lean, face",
        keys=(
            "tappet.kind",
            "tappet.setback",
            "tappet.angle",
            "tappet.face_diameter",
            "tappet.crown_radius",
        ),
        how=(
            "Setback: from the shaft axis to the line along which the pushrod's lower ball moves, square to "
            "that line. Plus on the side away from the valve. Put a straight rod into the tappet bore and "
            "measure from the shaft to the rod, plus half the shaft, plus half the rod.",
            "Angle: protractor between that rod and the stem. Plus when the rod leans away from the valve "
            "going up.",
            "Face diameter with a caliper. Crown: see `valvetrain guide crown`.",
        ),
        slips=("The hole's edge in the head taken for the tappet's line.", "The sign of the lean."),
        drawing="tappet",
        instead="`valvetrain fit` finds line and lean roughly; a drawing of the block gives them best.",
    ),
    Topic(
        name="hole",
        title="The pushrod's hole through the head",
        keys=(
            "head.hole_diameter",
            "head.hole_setback",
            "head.hole_top",
            "head.hole_bottom",
            "head.hole_angle",
            "head.hole_offset",
        ),
        how=(
            "Diameter with a caliper; top and bottom of the hole below the shaft's axis, along the stem.",
            "Setback of its middle at the top from the shaft axis; lean with a rod through the hole.",
        ),
        slips=("Burrs and gasket edges that stand into the hole.",),
        drawing="tappet",
    ),
    Topic(
        name="shapes",
        title="Retainer, seal, rocker and stand: what passes close by",
        keys=(
            "shapes.retainer_diameter",
            "shapes.retainer_below_tip",
            "shapes.retainer_depth",
            "shapes.seal_diameter",
            "shapes.rocker_depth",
            "shapes.hub_diameter",
            "shapes.stand_width",
            "shapes.stand_top",
            "shapes.rocker_outline",
            "shapes.retainer_outline",
            "shapes.seal_outline",
            "shapes.stand_outline",
        ),
        how=(
            "With the valve closed measure the eight sizes; a caliper is enough.",
            "Where it is close, trace the part's side view on paper and give its points as a table (x, y, "
            "counterclockwise).",
            "Check the closest place with clay or a bent wire of the least clearance, turned by hand.",
        ),
        slips=("Only the closed valve looked at: the rocker's underside comes nearest later in the lift.",),
        cautions=(TURNING, SPRINGS),
        drawing="shapes",
    ),
    Topic(
        name="heights",
        title="The height ledger: what machine work changed",
        keys=("tables.heights",),
        columns=("item", "change"),
        how=(
            "Ask everyone who machined something: how much came off head, deck, seats, base circles; gasket "
            "old and new; tappets old and new. A blank change is an unknown amount.",
            "Measure the thread showing at every adjuster now, and before where it was noted.",
            "`valvetrain heights` finds the unknown total from the adjusters.",
        ),
        slips=(
            "One valve measured and the rest assumed.",
            "A gasket's free thickness given for the tight one.",
        ),
        table=("item,change,remarks", "gasket,-0.010,thinner gasket", "head,,amount not known"),
    ),
)
