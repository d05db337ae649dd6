"""Specific gravity and density at a moisture content.

Equations of the USDA FPL Wood Handbook (FPL-GTR-282), chapter 4: 4-3, 4-9, 4-11 to 4-14.
"""

FIBRE_SATURATION_PERCENT = 30.0
WATER_KG_M3 = 1000.0

_CELL_WALL_GRAVITY = 1.54
_SHRINKAGE_PER_GRAVITY_PERCENT = 26.5


def partial_shrinkage_percent(
    shrinkage_percent: float,
    moisture_percent: float,
    fibre_saturation_percent: float = FIBRE_SATURATION_PERCENT,
) -> float:
    """Shrinkage from green down to `moisture_percent` in % of the green size (eq. 4-9).

    `shrinkage_percent` is the whole shrinkage from green to ovendry. Above fibre saturation
    wood does not shrink: 0.
    """
    dry_part = max(0.0, 1.0 - moisture_percent / fibre_saturation_percent)
    return shrinkage_percent * dry_part


def specific_gravity(
    basic_gravity: float,
    moisture_percent: float,
    shrinkage_volumetric_percent: float | None = None,
) -> float:
    """Specific gravity, ovendry mass on the volume at that moisture (eq. 4-11).

    `basic_gravity` is ovendry mass on green volume. Without a volumetric shrinkage it is
    taken as 26.5 times the basic gravity (eq. 4-12, which gives eq. 4-13).
    """
    whole = (
        _SHRINKAGE_PER_GRAVITY_PERCENT * basic_gravity
        if shrinkage_volumetric_percent is None
        else shrinkage_volumetric_percent
    )
    return basic_gravity / (1.0 - partial_shrinkage_percent(whole, moisture_percent) / 100.0)


def density_kg_m3(gravity: float, moisture_percent: float) -> float:
    """Density with its water, kg/m³, from the gravity at that moisture (eq. 4-14)."""
    return WATER_KG_M3 * gravity * (1.0 + moisture_percent / 100.0)


def most_moisture_percent(basic_gravity: float) -> float:
    """Moisture of wood that is full of water (eq. 4-3)."""
    return 100.0 * (_CELL_WALL_GRAVITY - basic_gravity) / (_CELL_WALL_GRAVITY * basic_gravity)
