"""How fast work may turn. Common practice, never to be shown without its caution."""

from dataclasses import dataclass
from math import pi

from server.craft.wood.sources import Source, common_practice

BAND_LOW_INCH_RPM = 6000.0
BAND_HIGH_INCH_RPM = 9000.0
SPEED_CAUTION = "lathe-speed"
SPEED_CAUTION_TEXT = (
    "Common practice, not a promise: the lathe's manual comes first. Full face shield, stand "
    "out of the line of the rim, spin the work by hand, start at the slowest speed, and look "
    "over glue joints and cracks before every start. Shaking: slower."
)
SPEED_SOURCE = common_practice("Diameter in inches times rpm of 6000 to 9000 as the upper band")

_MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class SpeedBand:
    """The band of speeds that is not to be exceeded for a diameter, and its rim speeds.

    `high` is what sound work that runs true may reach; work that is glued and not yet turned
    true, out of balance or not round stays at `low` or below. `caution` is the key of the
    words that must stand beside it.
    """

    diameter_mm: float
    low_rpm: float
    high_rpm: float
    low_rim_m_s: float
    high_rim_m_s: float
    runs_true: bool
    caution: str = SPEED_CAUTION
    caution_text: str = SPEED_CAUTION_TEXT
    source: Source = SPEED_SOURCE


def rim_speed_m_s(diameter_mm: float, rpm: float) -> float:
    """The speed of the rim, m/s."""
    return pi * diameter_mm * rpm / 60_000.0


def rim_acceleration_m_s2(diameter_mm: float, rpm: float) -> float:
    """What pulls at a segment on the rim: ω²·r, m/s²."""
    omega = 2.0 * pi * rpm / 60.0
    return omega**2 * diameter_mm / 2000.0


def rpm_for(diameter_mm: float, inch_rpm: float) -> float:
    """The rpm at which diameter in inches times rpm has that value.

    What is thinner than a millimetre, as a form on the axis alone is, counts as a millimetre.
    """
    return inch_rpm * _MM_PER_INCH / max(diameter_mm, 1.0)


def speed_band(roughest_diameter_mm: float, *, runs_true: bool) -> SpeedBand:
    """The band for work of that diameter, measured over its proudest corners.

    Until the glued work runs true, the upper end of the band is its lower end.
    """
    low = rpm_for(roughest_diameter_mm, BAND_LOW_INCH_RPM)
    high = rpm_for(roughest_diameter_mm, BAND_HIGH_INCH_RPM) if runs_true else low
    return SpeedBand(
        diameter_mm=roughest_diameter_mm,
        low_rpm=low,
        high_rpm=high,
        low_rim_m_s=rim_speed_m_s(roughest_diameter_mm, low),
        high_rim_m_s=rim_speed_m_s(roughest_diameter_mm, high),
        runs_true=runs_true,
    )
