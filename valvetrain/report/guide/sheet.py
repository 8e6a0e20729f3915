"""The guide on the sheet itself: engine, drawer, tables, instruments, limits."""

from valvetrain.report.guide.topic import Topic

__all__ = ["SHEET_TOPICS"]

SHEET_TOPICS = (
    Topic(
        name="sheet",
        title="The sheet, its units and its tables",
        keys=("sheet.title", "sheet.units", "tables.valves", "tables.correlation"),
        columns=("valve", "remarks"),
        how=(
            "units = inch (in, lbf, lbm, degF, psi) or metric (mm, N, g, degC, MPa); angles are degrees. A "
            "value "
            'may carry its own unit: "36.8 mm".',
            'And its own standard uncertainty: "1.450 +/- 0.003". Without one, the instrument\'s usual is '
            "taken.",
            "Leave out what is not known (# before the line): it is unknown, never zero.",
            "valves.csv: a row a valve, named by cylinder and role, 1I, 1E, 2I, ... A blank cell was not "
            "measured. Any measured key may be a column. Commas, semicolons or tabs, decimal commas, .xlsx: "
            "all may be used.",
            "correlation is written by `valvetrain fit`: leave it.",
        ),
        slips=(
            "A column that is there and blank is unmeasured at that valve, even if its section has a value.",
            "Unit forgotten: a plain number is in the sheet's units.",
        ),
    ),
    Topic(
        name="engine",
        title="The engine",
        keys=(
            "engine.cylinders",
            "engine.valves_per_cylinder",
            "engine.bore",
            "engine.stroke",
            "engine.rod_length",
            "engine.redline",
            "engine.break_in_speed",
        ),
        how=("From the manual. Cylinder 1 is at the front, the flywheel at the rear.",),
        slips=("Rod length over the ends: it is between the centers of its two bores.",),
    ),
    Topic(
        name="drawer",
        title="Shims, pushrods and other parts at hand",
        keys=(
            "stock.stand_shims",
            "stock.rocker_shims",
            "stock.spring_shims",
            "stock.keepers",
            "stock.retainers",
            "stock.spring_shim_stack",
            "stock.stand_shim_stack",
            "stock.pushrod_lengths",
            "stock.pushrod_step",
        ),
        how=(
            "Measure a shim of each kind with a micrometer and list the thicknesses: plans are made from "
            "these.",
            "Counted: { thickness = 0.030, count = 4 }. A stack's greatest thickness where you have a rule.",
        ),
        slips=("The size on the packet believed.",),
    ),
    Topic(
        name="instruments",
        title="What your instruments are good for",
        keys=("instruments.*",),
        how=(
            "Measure the same thing ten times, taking everything off in between; the scatter (the middle two "
            "thirds of the readings lie within +- this much) is the standard uncertainty. Write it once.",
            "Better a true large number than a hopeful small one: verdicts stand on it.",
        ),
        slips=("The scale's division taken for the uncertainty.", "An instrument not checked on a standard."),
    ),
    Topic(
        name="limits",
        title="Limits of your own",
        keys=("limits.*",),
        how=(
            "Every check has a limit, with what it rests on. The maker's own figures, or yours, go into "
            "[limits]: "
            'sweep_width = { high = "9 %" }.',
        ),
        slips=("A contact stress quoted as seen taken for a limit.",),
    ),
)
