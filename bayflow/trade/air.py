"""Water in the air: saturation pressure, dew point, and how far a surface keeps above it.

The gate compares integers only, from one table of saturation pressure that JavaScript shares
(`static/js/core/es.js`); the smooth functions are for people and for checking the table.
"""

import math

from bayflow.trade.es_table import ES, FIRST_DC

LAST_DC = FIRST_DC + len(ES) - 1


def saturation_pa(temp_c: float) -> float:
    """Saturation vapour pressure over water in Pa at *temp_c* °C.

    Magnus form with e0 = 610.94 Pa, b = 17.625, c = 243.04 °C (Alduchov and Eskridge 1996, J. Appl. Meteorol. 35:601).
    """
    return 610.94 * math.exp(17.625 * temp_c / (243.04 + temp_c))


def dew_point_c(temp_c: float, humidity_percent: float) -> float:
    """Dew point in °C of air at *temp_c* °C and *humidity_percent* relative humidity (same form, inverted).

    Raises ValueError unless 0 < humidity <= 100 and -45 <= temperature <= 60, the range the form was fitted for.
    """
    if not 0 < humidity_percent <= 100:
        raise ValueError(f"humidity {humidity_percent} % is outside 0 (not included) to 100 %")
    if not -45 <= temp_c <= 60:
        raise ValueError(f"temperature {temp_c} °C is outside -45 to 60 °C")
    gamma = math.log(humidity_percent / 100) + 17.625 * temp_c / (243.04 + temp_c)
    return 243.04 * gamma / (17.625 - gamma)


def humidity_percent(temp_c: float, dew_c: float) -> float:
    """Relative humidity in percent of air at *temp_c* °C whose dew point is *dew_c* °C: the same form once more.

    Raises ValueError where the dew point lies above the temperature, or either outside -45 to 60 °C.
    """
    if not -45 <= dew_c <= temp_c <= 60:
        raise ValueError(
            f"a dew point of {dew_c:g} °C does not fit air of {temp_c:g} °C (-45 to 60 °C, dew point below)"
        )
    return 100 * saturation_pa(dew_c) / saturation_pa(temp_c)


def _es(temp_dc: int) -> int:
    return ES[min(max(temp_dc, FIRST_DC), LAST_DC) - FIRST_DC]


def margin_kept(surface_dc: int, air_dc: int, humidity_permille: int, margin_dc: int) -> bool:
    """Whether a surface (tenths of a °C) is at least *margin_dc* above the dew point of that air. Integers only."""
    return _es(surface_dc - margin_dc) * 1000 >= humidity_permille * _es(air_dc)


def surface_needed(air_dc: int, humidity_permille: int, margin_dc: int) -> int:
    """The coldest surface, in tenths of a °C, that keeps *margin_dc* above the dew point of that air."""
    low, high = FIRST_DC, LAST_DC
    while low < high:
        middle = (low + high) // 2
        if _es(middle) * 1000 >= humidity_permille * _es(air_dc):
            high = middle
        else:
            low = middle + 1
    return low + margin_dc
