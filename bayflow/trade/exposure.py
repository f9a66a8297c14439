"""What a working day does to people: heat. The figures warn; they replace no risk assessment and no doctor."""

import math

from bayflow.trade.air import dew_point_c

CAUTIONS = ((125.0, "extreme danger"), (103.0, "danger"), (90.0, "extreme caution"), (80.0, "caution"))
"""Heat index in °F from which the US National Weather Service speaks of each (its chart of the heat index)."""


def heat_index_f(temp_c: float, humidity_percent: float) -> float:
    """How hot still air in the shade feels, in °F: the US National Weather Service's equation, in its own unit.

    Rothfusz 1990, NWS Technical Attachment SR 90-23, with the adjustments of the NWS Weather Prediction Center's page;
    full sun adds up to 15 °F. Raises ValueError outside 0 (not included) to 100 % and -45 to 60 °C.
    """
    dew_point_c(temp_c, humidity_percent)  # the same range, refused in the same words
    t, rh = temp_c * 1.8 + 32, humidity_percent
    simple = (0.5 * (t + 61 + (t - 68) * 1.2 + rh * 0.094) + t) / 2
    if simple < 80:
        return simple
    full = (
        -42.379 + 2.04901523 * t + 10.14333127 * rh - 0.22475541 * t * rh - 0.00683783 * t * t
        - 0.05481717 * rh * rh + 0.00122874 * t * t * rh + 0.00085282 * t * rh * rh - 0.00000199 * t * t * rh * rh
    )  # fmt: skip
    if rh < 13 and t <= 112:
        full -= (13 - rh) / 4 * math.sqrt((17 - abs(t - 95)) / 17)
    if rh > 85 and t <= 87:
        full += (rh - 85) / 10 * (87 - t) / 5
    return full


def caution(heat_index: float) -> str | None:
    """The word of the US National Weather Service for a heat index in °F; None below 80 °F."""
    return next((word for least, word in CAUTIONS if heat_index >= least), None)
