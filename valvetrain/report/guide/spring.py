"""The guide on valve springs."""

from valvetrain.report.guide.topic import SPRINGS, Topic

__all__ = ["SPRING_TOPICS"]

SPRING_TOPICS = (
    Topic(
        name="installed_height",
        title="Installed height, and the room to seal and guide",
        keys=(
            "spring.installed_height",
            "spring.shims_fitted",
            "spring.locator_to_fit",
            "spring.retainer_to_seal",
            "spring.retainer_to_guide",
            "spring.seat_recession",
            "spring.tip_ground",
        ),
        how=(
            "Fit valve, retainer and keepers without the spring; pull the retainer up hard by hand.",
            "Height micrometer between the spring's seat, on top of the shims, and the face on which the "
            "spring bears under the retainer. Turn the valve and read again.",
            "Write the shims that were under it as `0.030 + 0.015`, 0 for none.",
            "Slide the valve down until the retainer touches seal or guide: the travel is retainer_to_seal "
            "(or retainer_to_guide).",
            "Machined after measuring? Give seat_recession and tip_ground instead of measuring all again.",
        ),
        slips=(
            "Keepers not seated: pull hard, and tap the retainer.",
            "Read to the retainer's step for the inner spring instead of the outer face.",
            "The micrometer not checked on its standard.",
            "A locator or cup left out when measuring and fitted later.",
        ),
        cautions=(SPRINGS,),
        drawing="installed_height",
        instead="A caliper over the retainer, less its thickness; write the doubt with the value.",
    ),
    Topic(
        name="spring_test",
        title="Spring load, rate and solid height",
        keys=(
            "spring.tests",
            "spring.rate",
            "spring.free_length",
            "spring.solid_height",
            "spring.kind",
            "spring.seat_load_target",
            "spring.damper_friction",
            "spring_tester.zero",
            "spring_tester.scale",
            "spring_tester.height_zero",
            "spring_tester.retainer_thickness",
        ),
        columns=("spring", "height", "load", "solid_height"),
        how=(
            "Mark every spring: S1, S2, ... Press each to solid once or twice before it is read.",
            "Set the tester to about the installed height, read the load; then about the open height "
            "(installed less valve lift). A row each: spring, height, load.",
            "Solid height: press until the coils touch, no farther, and read with a caliper.",
            "A set of springs is tested together, or each for itself with inner and outer in their own "
            "tables.",
            "What is known of the tester: its reading with nothing on it, against a known weight, and on a "
            "height standard.",
            "Damper friction: load read while pressing less load read while letting go, halved.",
        ),
        slips=(
            "Heights read with the retainer in the tester: add its thickness to [spring_tester].",
            "psi on the dial: a tester printed in psi shows pounds-force.",
            "Loads below a tenth of the tester's range.",
            "Shimming a weak spring up to its load: it may bind at full lift. Check the bind again.",
        ),
        cautions=(SPRINGS,),
        drawing="installed_height",
        instead="Catalog rate and free length do, at the catalog's doubt (`valvetrain guide catalog`).",
        table=("spring,height,load,solid_height", "S1,1.600,79.7,1.165", "S1,1.250,162.0,"),
    ),
    Topic(
        name="catalog",
        title="A spring as the catalog gives it",
        keys=(
            "spring.catalog_height",
            "spring.catalog_load",
            "spring.catalog_open_height",
            "spring.catalog_open_load",
        ),
        how=("Copy height and load, and the lower height with its load where the catalog gives both.",),
        slips=("Loads often misprinted as psi.", "Loads with a damper or inner spring taken for one alone."),
    ),
    Topic(
        name="wire",
        title="The spring's wire, for stress, fatigue and surge",
        keys=(
            "spring.wire_diameter",
            "spring.coil_diameter",
            "spring.small_coil_diameter",
            "spring.active_coils",
            "spring.material",
            "spring.surface",
            "spring.shear_modulus",
        ),
        how=(
            "Wire with a micrometer on a middle coil. Coil diameter is the mean: outside diameter less one "
            "wire.",
            "Active coils: count all coils and take off two for closed ends. Quarters count.",
            "Material and surface from the seller; leave out what nobody knows.",
        ),
        slips=("Outside diameter given for the mean.", "Closed end coils counted as active."),
    ),
    Topic(
        name="spring_set",
        title="Springs inside springs",
        keys=("inner_spring.seat_step", "inner_spring.retainer_step", "spring.damper_thickness"),
        columns=("middle_spring", "inner_spring"),
        how=(
            "[spring] is the outer spring; [inner_spring] and [middle_spring] stand inside, with the same "
            "keys.",
            "Depth caliper: how far the inner seat stands above the outer's (minus if sunk), and how far the "
            "retainer reaches down to the inner spring beyond the outer's face.",
            "A flat damper between two springs: its thickness.",
        ),
        slips=("The step's sign.", "A set tested together and each spring given again: loads counted twice."),
        cautions=(SPRINGS,),
        drawing="installed_height",
    ),
)
