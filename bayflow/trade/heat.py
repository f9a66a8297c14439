"""How hot the sun makes a painted panel: an estimate, given as a bracket from windy to still air. A reading wins.

Clear sky only. The windy end is the sol-air temperature of building practice; the still end a heat balance in air that
hardly moves. One informal set of bonnet readings lies within the two for black paint, so neither end is a promise.
"""

import math

BLACK, MIDDLE, LIGHT = 0.95, 0.65, 0.40
"""Solar absorptance of black, a middling colour, white or silver: one less the reflectances 0.05, 0.35 and 0.60 of
Levinson et al. 2011, Applied Energy, "Potential benefits of solar reflective car shells" (abstract)."""

WINDY, STILL = 17.0, 11.0
"""Heat taken off a surface, W/m²K: ASHRAE Handbook of Fundamentals, sol-air film (from memory); 4.5 by still air and
6.5 by radiation (building-physics documentation of a heat-and-moisture program)."""
SKY_LOSS = 63.0
"""What a surface that faces the sky radiates beyond one at air temperature, W/m² (ASHRAE, as above, from memory)."""
EMITTANCE = 0.9
GROUND = 0.2
"""Share of sunlight that the ground throws back (common practice, no source)."""


def global_wm2(elevation_deg: float) -> float:
    """Sun and sky on level ground under a clear sky, W/m²; 0 for a sun that is down.

    Haurwitz 1945, J. Meteorology 2:154: 1098 cos z exp(-0.059 / cos z), z the zenith angle.
    """
    height = math.sin(math.radians(elevation_deg))
    return 1098 * height * math.exp(-0.059 / height) if height > 0 else 0.0


def beam_wm2(elevation_deg: float) -> float:
    """The sun's own beam on a surface square to it under a clear sky, W/m²; 0 for a sun that is down.

    Meinel and Meinel 1976, Applied Solar Energy: 1353 x 0.7^(AM^0.678), with the air mass AM of Kasten and Young 1989,
    Applied Optics 28:4735 (both from memory; held against another clear-sky model in the tests).
    """
    if elevation_deg <= 0:
        return 0.0
    mass = 1 / (math.sin(math.radians(elevation_deg)) + 0.50572 * (elevation_deg + 6.07995) ** -1.6364)
    return float(1353 * 0.7 ** (mass**0.678))


def on_panel_wm2(elevation_deg: float, azimuth_deg: float, tilt_deg: float, facing_deg: float, *, lit: bool) -> float:
    """What falls on a panel, W/m²: beam, sky (alike from everywhere) and ground; without the beam unless *lit*.

    *tilt_deg* is 0 for a roof, 90 for a door; *facing_deg* is the compass direction that it faces. Liu and Jordan 1963
    for sky and ground. Raises ValueError for a tilt outside 0 to 180.
    """
    if not 0 <= tilt_deg <= 180:
        raise ValueError(f"tilt {tilt_deg:g} is outside 0 (level) to 180 degrees")
    whole, beam = global_wm2(elevation_deg), beam_wm2(elevation_deg)
    up, tilt = math.radians(elevation_deg), math.radians(tilt_deg)
    sky = max(whole - beam * math.sin(up), 0.0)
    turn = math.cos(math.radians(azimuth_deg - facing_deg))
    square = math.sin(up) * math.cos(tilt) + math.cos(up) * math.sin(tilt) * turn
    direct = beam * max(square, 0.0) if lit else 0.0
    ground = GROUND * (whole if lit else sky)
    return direct + sky * (1 + math.cos(tilt)) / 2 + ground * (1 - math.cos(tilt)) / 2


def panel_c(air_c: float, sun_wm2: float, absorptance: float, tilt_deg: float) -> tuple[float, float]:
    """The bracket of a panel's temperature in °C, lower end first: air + (absorbed sun - loss to the sky) / film.

    Sol-air temperature (ASHRAE) with the windy and the still film; the loss to the sky falls from level to upright.
    Raises ValueError for air outside -60 to 60 °C, sun outside 0 to 1500 W/m², absorptance outside 0 to 1.
    """
    if not -60 <= air_c <= 60:
        raise ValueError(f"air {air_c:g} °C is outside -60 to 60 °C")
    if not 0 <= sun_wm2 <= 1500:
        raise ValueError(f"sun {sun_wm2:g} W/m² is outside 0 to 1500 W/m²")
    if not 0 <= absorptance <= 1:
        raise ValueError(f"absorptance {absorptance:g} is outside 0 to 1")
    gain = absorptance * sun_wm2 - EMITTANCE * SKY_LOSS * max(math.cos(math.radians(tilt_deg)), 0.0)
    ends = (air_c + gain / WINDY, air_c + gain / STILL)
    return min(ends), max(ends)
