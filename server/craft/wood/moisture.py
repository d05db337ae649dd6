"""The moisture that wood comes to in a room's air."""

from math import isfinite

from server.craft.errors import FieldError

COLDEST_C = -30.0
HOTTEST_C = 130.0
TABLE_COLDEST_C = -1.2
TABLE_HOTTEST_C = 60.0
TABLE_LEAST_HUMIDITY_PERCENT = 5.0
TABLE_MOST_HUMIDITY_PERCENT = 95.0


def equilibrium_moisture_percent(temperature_c: float, humidity_percent: float) -> float:
    """Equilibrium moisture content in % of the ovendry mass.

    Two-hydrate sorption equation of Hailwood and Horrobin with the temperature polynomials of
    Simpson (1973): USDA FPL Wood Handbook (FPL-GTR-282), chapter 4, eq. 4-5, °C form. The
    Handbook finds a tenth of a percent already too fine to mean anything. The polynomials lose
    their meaning far from the temperatures they were fitted to, so colder than −30 °C counts
    as −30 °C and hotter than 130 °C as 130 °C. Raises FieldError for a humidity beyond
    0…100 % and for what is no ordinary number.
    """
    if not (isfinite(humidity_percent) and 0.0 <= humidity_percent <= 100.0):
        raise FieldError("/humidity_percent", "Must lie between 0 and 100 %.")
    if not isfinite(temperature_c):
        raise FieldError("/temperature_c", "Must be an ordinary number.")
    t = min(HOTTEST_C, max(COLDEST_C, temperature_c))
    w = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * humidity_percent / 100.0
    first = kh / (1.0 - kh)
    hydrates = k1 * kh + k1 * k2 * kh**2
    second = (k1 * kh + 2.0 * k1 * k2 * kh**2) / (1.0 + hydrates)
    return 1800.0 / w * (first + second)


def is_extrapolated(temperature_c: float, humidity_percent: float) -> bool:
    """Whether these lie outside the table that the equation was checked against: a guess.

    That part of Table 4-2 runs from −1.1 to 60 °C and from 5 to 95 %.
    """
    return (
        not TABLE_COLDEST_C <= temperature_c <= TABLE_HOTTEST_C
        or not TABLE_LEAST_HUMIDITY_PERCENT <= humidity_percent <= TABLE_MOST_HUMIDITY_PERCENT
    )
