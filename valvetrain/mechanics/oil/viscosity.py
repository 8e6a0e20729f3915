"""Viscosity of engine oil over temperature and pressure, viscosity index, and SAE grades.

Kinematic viscosity in m^2/s (1 mm^2/s = 1 cSt = 1e-6 m^2/s), dynamic in Pa s, temperature in K.
"""

from dataclasses import dataclass

import numpy as np

from valvetrain.mechanics.arrays import ArrayLike, FloatArray
from valvetrain.mechanics.guards import first_marked, positive

__all__ = [
    "J300_EDITION",
    "SAE_GRADES",
    "SaeGrade",
    "density_at",
    "dynamic_viscosity",
    "kinematic_viscosity",
    "kinematic_viscosity_at_40",
    "pressure_viscosity_estimate",
    "roelands_exponent",
    "roelands_viscosity",
    "sae_grade",
    "viscosity_index",
]

_CST = 1e-6
_T40, _T100 = 313.15, 373.15

# ASTM D2270, coefficients of L = a Y^2 + b Y + c and H = d Y^2 + e Y + f by the range of the kinematic
# viscosity Y at 100 degC [cSt]: (least Y, a, b, c, d, e, f). Status: memory; tested against the standard's
# tabulated L and H.
_D2270 = np.array(
    [
        (2.0, 1.14673, 1.7576, -0.109, 0.84155, 1.5521, -0.077),
        (3.8, 3.38095, -15.4952, 33.196, 0.78571, 1.7929, -0.183),
        (4.4, 2.5, -7.2143, 13.812, 0.82143, 1.5679, 0.119),
        (5.0, 0.101, 16.635, -45.469, 0.04985, 9.1613, -18.557),
        (6.4, 3.35714, -23.5643, 78.466, 0.22619, 7.7369, -16.656),
        (7.0, 0.01191, 21.475, -72.870, 0.79762, -0.7321, 14.610),
        (7.7, 0.41858, 16.1558, -56.040, 0.05794, 10.5156, -28.240),
        (9.0, 0.88779, 7.5527, -16.600, 0.26665, 6.7015, -10.810),
        (12.0, 0.7672, 10.7972, -38.180, 0.20073, 8.4658, -22.490),
        (15.0, 0.97305, 5.3135, -2.200, 0.28889, 5.9741, -4.930),
        (18.0, 0.97256, 5.25, -0.980, 0.24504, 7.416, -16.730),
        (22.0, 0.91413, 7.4759, -21.820, 0.20323, 9.1267, -34.230),
        (28.0, 0.87031, 9.7157, -50.770, 0.18411, 10.1015, -46.750),
        (40.0, 0.84703, 12.6752, -133.310, 0.17029, 11.4866, -80.620),
        (55.0, 0.85921, 11.1009, -83.190, 0.1713, 11.368, -76.940),
        (70.0, 0.83531, 14.6731, -216.246, 0.16841, 11.8493, -96.947),
    ]
)


@dataclass(frozen=True)
class SaeGrade:
    """Limits of one viscosity grade, hot end.

    Attributes:
        name: such as "10W-40".
        minimum: least kinematic viscosity at 100 degC [m^2/s].
        maximum: kinematic viscosity at 100 degC that it must stay below [m^2/s]; inf for a W grade alone.
        high_shear: least dynamic viscosity at 150 degC and high shear rate [Pa s]; NaN for a W grade alone.
        edition: of the standard.
    """

    name: str
    minimum: float
    maximum: float
    high_shear: float
    edition: str


J300_EDITION = "SAE J300, 2015"


def _grade(name: str, low: float, high: float, shear: float) -> tuple[str, SaeGrade]:
    """Return a row of the table from figures in cSt and mPa s."""
    return name, SaeGrade(name, low * _CST, high * _CST, shear * 1e-3, J300_EDITION)


# 20 to 60 and the W grades: published (seen); 8, 12 and 16: memory.
SAE_GRADES: dict[str, SaeGrade] = dict(
    [
        _grade("0W", 3.8, float("inf"), float("nan")),
        _grade("5W", 3.8, float("inf"), float("nan")),
        _grade("10W", 4.1, float("inf"), float("nan")),
        _grade("15W", 5.6, float("inf"), float("nan")),
        _grade("20W", 5.6, float("inf"), float("nan")),
        _grade("25W", 9.3, float("inf"), float("nan")),
        _grade("8", 4.0, 6.1, 1.7),
        _grade("12", 5.0, 7.1, 2.0),
        _grade("16", 6.1, 8.2, 2.3),
        _grade("20", 6.9, 9.3, 2.6),
        _grade("30", 9.3, 12.5, 2.9),
        _grade("40", 12.5, 16.3, 3.7),
        _grade("50", 16.3, 21.9, 3.7),
        _grade("60", 21.9, 26.1, 3.7),
    ]
)


def sae_grade(name: str) -> SaeGrade:
    """Limits of a grade such as "30", "10W" or "10W-40" (also written "SAE 10W40").

    Raises:
        ValueError: a grade that the stored edition does not know.
    """
    text = name.upper().replace("SAE", "").replace("-", "").replace("/", "").replace(" ", "")
    winter, letter, summer = text.partition("W")
    if not letter:
        winter, summer = "", text
    unknown = ValueError(
        f"oil grade {name!r} is not in {J300_EDITION}: known are {', '.join(SAE_GRADES)} and "
        "pairs like 10W-40"
    )
    if (winter and f"{winter}W" not in SAE_GRADES) or (summer and summer not in SAE_GRADES):
        raise unknown
    if not text or (letter and not winter):
        raise unknown
    if not (winter and summer):
        return SAE_GRADES[summer or f"{winter}W"]
    hot, cold = SAE_GRADES[summer], SAE_GRADES[f"{winter}W"]
    # Grade 40 has two high-shear limits, by the W grade that it is paired with.
    shear = 3.5e-3 if summer == "40" and winter in ("0", "5", "10") else hot.high_shear
    return SaeGrade(f"{winter}W-{summer}", max(hot.minimum, cold.minimum), hot.maximum, shear, J300_EDITION)


def kinematic_viscosity(
    temperature: ArrayLike,
    viscosity_1: ArrayLike,
    temperature_1: ArrayLike,
    viscosity_2: ArrayLike,
    temperature_2: ArrayLike,
) -> FloatArray:
    """Kinematic viscosity from two known points, ASTM D341: log10 log10(nu + 0.7) = A - B log10 T.

    Args:
        temperature: wanted [K].
        viscosity_1, temperature_1, viscosity_2, temperature_2: the two points [m^2/s], [K].

    Returns:
        nu [m^2/s]; NaN where it falls below 2 cSt, where this form of the standard's equation ends, and
        where the oil would be too thick for a float (far below any pour point).

    Raises:
        ValueError: a point below 2 cSt, a temperature <= 0 K, or the two temperatures the same.
    """
    kelvin, t1, t2 = (np.asarray(x, float) for x in (temperature, temperature_1, temperature_2))
    for value in (kelvin, t1, t2):
        positive("temperature", value, "K", finite=False)
    if np.any(t1 == t2):
        raise ValueError(
            f"both viscosities are given at {first_marked(t1 + 0 * t2, t1 == t2)} K: two temperatures are "
            "needed"
        )
    logs = []
    for viscosity in (viscosity_1, viscosity_2):
        nu = np.asarray(viscosity, float) / _CST
        if np.any(nu < 2):
            found = first_marked(nu, nu < 2)
            raise ValueError(f"kinematic viscosity is {found:g} cSt: ASTM D341 in this form needs 2 or more")
        logs.append(np.log10(np.log10(nu + 0.7)))
    slope = (logs[0] - logs[1]) / np.log10(t2 / t1)
    with np.errstate(over="ignore"):
        nu = 10 ** (10 ** (logs[0] - slope * np.log10(kelvin / t1))) - 0.7
    # A hair of allowance, so that a given point of 2 cSt comes back.
    return np.asarray(np.where(np.isfinite(nu) & (nu >= 2 - 1e-9), nu, np.nan) * _CST, float)


def viscosity_index(viscosity_40: ArrayLike, viscosity_100: ArrayLike) -> FloatArray:
    """Viscosity index, ASTM D2270, unrounded.

    Args:
        viscosity_40, viscosity_100: kinematic, at 40 and 100 degC [m^2/s].

    Returns:
        the index; NaN where the viscosity at 100 degC is below 2 cSt, out of the standard's range.

    Raises:
        ValueError: a viscosity <= 0, or 40 degC not thicker than 100 degC.
    """
    thick, thin = np.asarray(viscosity_40, float), np.asarray(viscosity_100, float)
    positive("kinematic viscosity", thick, "m^2/s", finite=False)
    positive("kinematic viscosity", thin, "m^2/s", finite=False)
    if np.any(thick <= thin):
        raise ValueError("the oil is not thicker at 40 degC than at 100 degC: are the two mixed up?")
    u, y = thick / _CST, np.where(thin >= 2 * _CST, thin, np.nan) / _CST
    low, high = _index_references(y)
    below = 100 * (low - u) / (low - high)
    n = np.log10(high / u) / np.log10(y)
    above = (10**n - 1) / 0.00715 + 100
    return np.asarray(np.where(u >= high, below, above), float)


def kinematic_viscosity_at_40(viscosity_100: ArrayLike, index: ArrayLike) -> FloatArray:
    """Kinematic viscosity at 40 degC from that at 100 degC and the viscosity index (D2270 turned round).

    Args:
        viscosity_100: [m^2/s]; below 2 cSt gives NaN.
        index: viscosity index, 0 to 400 (outside: ValueError).
    """
    value = np.asarray(index, float)
    if np.any((value < 0) | (value > 400)):
        found = first_marked(value, (value < 0) | (value > 400))
        raise ValueError(f"viscosity index is {found:g}: 0 to 400 is allowed")
    y = np.asarray(viscosity_100, float) / _CST
    y = np.where(y >= 2, y, np.nan)
    low, high = _index_references(y)
    n = np.log10((np.maximum(value, 100) - 100) * 0.00715 + 1)
    return np.asarray(np.where(value <= 100, low - (low - high) * value / 100, high / y**n) * _CST, float)


def density_at(
    temperature: ArrayLike, density_15: ArrayLike = 875.0, expansion: ArrayLike = 7e-4
) -> FloatArray:
    """Density [kg/m^3] at a temperature [K] from that at 15 degC, with a constant cubic expansion [1/K].

    The default density and expansion are usual for mineral engine oils (common practice, no source); they
    are good to about 2 %, which is far better than the viscosity is known.
    """
    return np.asarray(
        np.asarray(density_15, float)
        * (1 - np.asarray(expansion, float) * (np.asarray(temperature, float) - 288.15)),
        float,
    )


def dynamic_viscosity(kinematic: ArrayLike, density: ArrayLike) -> FloatArray:
    """Dynamic viscosity [Pa s] from the kinematic [m^2/s] and the density [kg/m^3] at one temperature."""
    nu, rho = np.asarray(kinematic, float), np.asarray(density, float)
    positive("kinematic viscosity", nu, "m^2/s", finite=False)
    positive("density", rho, "kg/m^3", finite=False)
    return np.asarray(nu * rho, float)


def pressure_viscosity_estimate(viscosity: ArrayLike) -> FloatArray:
    """Pressure-viscosity coefficient of a mineral oil: alpha = (0.6 + 0.965 log10 eta0[cP]) 1e-8 1/Pa.

    Source: Wooster's rule as given by Stachowiak and Batchelor, *Engineering Tribology* (status: memory).
    Take it as good to a fourth; film thickness goes with its square root.

    Args:
        viscosity: eta0, dynamic, at the temperature of the contact [Pa s], > 0; below 1 cP: NaN.

    Raises:
        ValueError: viscosity <= 0.
    """
    eta = np.asarray(viscosity, float)
    positive("viscosity", eta, "Pa s", finite=False)
    return np.asarray((0.6 + 0.965 * np.log10(np.where(eta >= 1e-3, eta, np.nan) * 1e3)) * 1e-8, float)


def roelands_exponent(viscosity: ArrayLike, pressure_viscosity: ArrayLike) -> FloatArray:
    """Roelands' Z such that the slope at zero pressure is alpha: Z = alpha/(5.1e-9 (ln eta0 + 9.67))."""
    eta = np.asarray(viscosity, float)
    positive("viscosity", eta, "Pa s", finite=False)
    return np.asarray(np.asarray(pressure_viscosity, float) / (5.1e-9 * (np.log(eta) + 9.67)), float)


def roelands_viscosity(pressure: ArrayLike, viscosity: ArrayLike, exponent: ArrayLike) -> FloatArray:
    """Viscosity under pressure: eta0 exp((ln eta0 + 9.67)((1 + 5.1e-9 p)^Z - 1)) (status: memory).

    Args:
        pressure: p, gauge [Pa], >= 0.
        viscosity: eta0 at ambient pressure [Pa s], > 0.
        exponent: Z [1].

    Raises:
        ValueError: a negative pressure or viscosity <= 0.
    """
    p, eta = np.asarray(pressure, float), np.asarray(viscosity, float)
    positive("viscosity", eta, "Pa s", finite=False)
    if np.any(p < 0):
        raise ValueError(f"pressure is {first_marked(p, p < 0)} Pa: zero or more is allowed")
    power = (1 + 5.1e-9 * p) ** np.asarray(exponent, float) - 1
    return np.asarray(eta * np.exp((np.log(eta) + 9.67) * power), float)


def _index_references(y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return L and H, the 40 degC viscosities [cSt] of reference oils of index 0 and 100."""
    row = np.clip(np.searchsorted(_D2270[:, 0], y, side="right") - 1, 0, len(_D2270) - 1)
    _, a, b, c, d, e, f = np.moveaxis(_D2270[row], -1, 0)
    return a * y * y + b * y + c, d * y * y + e * y + f
