"""How fast the wear mechanics are, as ratios to a yardstick of the same run. Not collected by pytest.

Yardsticks, all for as many elements as the study has: one pass of numpy's power function (contact), one dense
solve of the network's size (oil), numpy's sort of the log's values (record). Median of several runs.
"""

import time
from collections.abc import Callable

import numpy as np

from valvetrain.mechanics.contact.archard import lobe_wear_intensity, relative_wear
from valvetrain.mechanics.contact.film import (
    elliptical_film,
    flat_follower_entrainment,
    flat_follower_sliding,
    flat_follower_surface_speeds,
    lambda_ratio,
)
from valvetrain.mechanics.contact.flash_temperature import flash_temperature
from valvetrain.mechanics.contact.hertz import crowned_tappet_on_lobe
from valvetrain.mechanics.contact.tappet_rotation import contact_path, rotation_drive
from valvetrain.mechanics.oil.network import ATMOSPHERE, AnnularLeak, Edge, Orifice, Pipe, solved_network
from valvetrain.mechanics.trend.diagnosis import diagnoses
from valvetrain.mechanics.trend.robust import robust_trend
from valvetrain.mechanics.trend.wear import FALLING, set_states


def seconds(run: Callable[[], object], repeats: int = 9) -> float:
    """Return the median time of several runs, after one to warm up."""
    run()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def contact_study() -> None:
    """12 lobes x 5 speeds x 720 angles: stress, film, flash temperature, wear, path and rotation."""
    angle = np.linspace(-np.pi, np.pi, 720)
    base = np.linspace(17e-3, 19e-3, 12)[:, None, None]
    lift, rate, second = (x * 4e-3 for x in (1 + np.cos(angle), -np.sin(angle), -np.cos(angle)))
    speed = np.array([15.0, 50, 100, 200, 300])[:, None]
    load = 500 + 80e3 * lift + 0.15 * speed**2 * second
    modulus = 9.5e10
    touch = crowned_tappet_on_lobe(
        load=load, lobe_radius=base + lift + second, crown_radius=1.5, lobe_width=13e-3, modulus=modulus
    )
    film = elliptical_film(
        viscosity=0.012,
        entrainment=flat_follower_entrainment(base, lift, second, speed),
        pressure_viscosity=1.8e-8,
        load=load,
        rolling_radius=base + lift + second,
        ellipticity=touch.ellipticity,
        modulus=modulus,
    )
    lambda_ratio(film, 3e-7, 3e-7)
    lobe, face = flat_follower_surface_speeds(base, lift, second, speed)
    flash_temperature(
        friction=0.1,
        pressure=touch.pressure,
        half_width=touch.half_width,
        speed_1=lobe,
        speed_2=face,
        effusivity_1=1.3e4,
        effusivity_2=1.3e4,
    )
    sliding = flat_follower_sliding(base, lift, speed)
    relative_wear(lobe_wear_intensity(0.5 * np.pi * touch.pressure * touch.half_width, sliding, lobe))
    path = contact_path(
        lift_rate=rate,
        taper=0.001,
        crown_radius=1.5,
        bore_offset=1e-3,
        lobe_width=13e-3,
        face_diameter=23e-3,
        half_length=np.nan_to_num(touch.uncut_half_length),
        half_width=np.nan_to_num(touch.half_width),
    )
    rotation_drive(load=load, across=path.across, along=path.along, lobe_arm=base + lift, friction=0.1)


def oil_supply() -> list[Edge]:
    """Return a shaft of 100 rockers: 202 places."""
    edges: list[Edge] = [Orifice("gallery", "place 0", 2e-3, 0.65)]
    for i in range(100):
        edges += [
            Pipe(f"place {i}", f"place {i + 1}", 12e-3, 0.04),
            Orifice(f"place {i}", f"rocker {i}", 2.5e-3, 0.65),
            AnnularLeak(f"rocker {i}", ATMOSPHERE, 22e-3, 40e-6, 10e-3, 0.5),
        ]
    return edges


def read_record(times: np.ndarray, lash: np.ndarray, lift: np.ndarray) -> None:
    """Judge and diagnose every valve of every engine."""
    span = times[-1] - times[0]
    by_lash = set_states(robust_trend(times, lash), span)
    by_lift = set_states(robust_trend(times, lift), span, only=FALLING, alike=True)
    for one, other in zip(by_lash.state.ravel().tolist(), by_lift.state.ravel().tolist(), strict=True):
        diagnoses(one, other)


def main() -> None:
    """Print the times and ratios."""
    rng = np.random.default_rng(1)
    numbers = rng.uniform(1, 2, 12 * 5 * 720)
    power = seconds(lambda: numbers**0.68)
    found = seconds(contact_study)
    print(f"contact, 43,200 points: {found:.4f} s (target 0.2), {found / power:.0f} x one power each")

    network = oil_supply()
    matrix = rng.normal(size=(202, 202)) + 50 * np.eye(202)
    dense = seconds(lambda: np.linalg.solve(matrix, np.ones(202)))
    found = seconds(lambda: solved_network(network, {"gallery": 3e5}, viscosity=0.012, density=850.0))
    print(f"oil, 202 places: {found:.4f} s (target 0.1), {found / dense:.1f} x one dense solve of that size")

    for engines, readings in ((1042, 8), (1, 8334)):
        shape = (engines, 12, readings)
        lash, lift = rng.normal(0.45e-3, 2e-5, shape), rng.normal(7.6e-3, 2e-5, shape)
        times = np.arange(float(readings))
        order = seconds(lambda data=lash: np.sort(data.ravel()))
        found = seconds(lambda t=times, a=lash, b=lift: read_record(t, a, b), 3)
        rows = lash.size
        print(
            f"record, {rows:,} rows of {12 * engines:,} valves: {found:.3f} s (target 1 with reading), "
            f"{found / order:.0f} x one sort"
        )


if __name__ == "__main__":
    main()
