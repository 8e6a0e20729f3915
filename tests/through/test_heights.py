"""Heights: a stack changed by known and unknown amounts, the adjuster screwed by root finding (derived)."""

import numpy as np
import pytest
from scipy.optimize import brentq

from .answers import asked
from .engine import MM, engine, linkage_of
from .linkage import Linkage
from .marks import checks
from .sheets import merged, written

SCREWED = "linkage built again and screwed with scipy.optimize.brentq"


def exposed(model, reach, rise):
    """Growth of the thread showing when shaft stands farther from the tappet [m] and from the tip [m]."""
    phi, travel = model.closed()
    lower = model.balls(phi, travel)[1]
    bore = np.array([-np.sin(model.tappet_angle), np.cos(model.tappet_angle), 0.0])
    higher = Linkage(**{**vars_of(model), "height": model.height + rise})
    at = higher.closed_angle()
    # In the frame of the tip the shaft went up by `rise`; the lower ball keeps its place but for the reach.
    ball = lower + np.array([0.0, rise, 0.0]) - reach * bore

    def short(out):
        screw = model.socket_arm * np.exp(1j * model.arm_angle)
        screw = screw + out * np.exp(1j * (model.arm_angle + np.pi / 2))
        moved = {**vars_of(higher), "socket_arm": abs(screw), "arm_angle": np.angle(screw) % (2 * np.pi)}
        return np.linalg.norm(Linkage(**moved).balls(at, 0.0)[0] - ball) - model.length

    return brentq(short, -8e-3, 8e-3, xtol=1e-13)


def vars_of(model):
    return {name: getattr(model, name) for name in model.__dataclass_fields__}


@pytest.mark.parametrize("seed", [0, 1])
@checks(
    "heights",
    "valves.exposure_change valves.known_reach valves.known_rise valves.known_exposure_change "
    "valves.unknown_reach valves.unknown_rise valves.own_part valves.pushrod_change valves.stand_shim_change "
    "unknown_total ledger.change",
    by=SCREWED,
    status="derived",
)
def test_an_unknown_cut_is_found(tmp_path, seed):
    sheet = merged(
        engine(seed),
        engine={"cylinders": 2},
        adjuster={"exposure": None},
        lash={"intake": 0.3, "exhaust": 0.3},
    )
    model = linkage_of(sheet)
    # Known: gasket 0.10 mm thinner, 0.06 mm ground off every tip. Unknown: the head skimmed by 0.15 mm;
    # 2E by 0.02
    # more.
    cut = {"1I": -0.15, "1E": -0.15, "2I": -0.15, "2E": -0.17}
    ledger = [{"item": "gasket", "change [mm]": -0.10}, {"item": "valve", "change [mm]": -0.06},
              {"item": "head", "change [mm]": ""}]  # fmt: skip
    valves, wanted = [], {}
    for name, unknown in cut.items():
        grown = wanted[name] = exposed(model, (-0.10 + unknown) * MM, 0.06 * MM)
        valves.append(
            {"valve": name, "exposure [mm]": f"{6.0 + grown / MM:.7f}", "exposure_before [mm]": 6.0}
        )
    answer = asked("heights", written(tmp_path, sheet, valves=valves, heights=ledger))
    for name, unknown in cut.items():
        valve = answer["valves"].of(valve=name)
        close = {"abs": 2e-6}
        assert valve.si("exposure_change") == pytest.approx(wanted[name], abs=1e-9)
        assert valve.si("known_reach") == pytest.approx(-0.10e-3, abs=1e-12)
        assert valve.si("known_rise") == pytest.approx(0.06e-3, abs=1e-12)
        known = exposed(model, -0.10e-3, 0.06e-3)
        assert valve.si("known_exposure_change") == pytest.approx(known, **close)
        assert valve.si("unknown_reach") == pytest.approx(unknown * MM, **close)
        rise = brentq(lambda r, n=name: exposed(model, -0.10e-3, 0.06e-3 + r) - wanted[n], -2e-3, 2e-3)
        assert valve.si("unknown_rise") == pytest.approx(rise, rel=0.01)
        # A pushrod so much longer, or a stand so much higher, would show the old thread again.
        longer = brentq(lambda d, u=unknown: exposed(model, (-0.10 + u) * MM - d, 0.06e-3), -2e-3, 2e-3)
        assert valve.si("pushrod_change") == pytest.approx(longer, **close)
        higher = brentq(lambda d, u=unknown: exposed(model, (-0.10 + u) * MM + d, 0.06e-3 + d), -2e-3, 2e-3)
        assert valve.si("stand_shim_change") == pytest.approx(higher, abs=3e-6)
    total = answer.si("unknown_total")
    assert total == pytest.approx(np.mean(list(cut.values())) * MM, abs=8e-6)
    for name, unknown in cut.items():
        own = answer["valves"].of(valve=name).si("own_part")
        assert own == pytest.approx(unknown * MM - total, abs=3e-6)
    assert [line.si("change") for line in answer["ledger"]][:2] == pytest.approx(
        [-0.10e-3, -0.06e-3], abs=1e-12
    )
