"""What a working day does to people: heat, vibration of the hands, noise. The figures warn; they replace no risk
assessment and no doctor.

Vibration is summed as *energy*, (cm/s²)² ms, and stays a whole number: energies of several machines simply add.
"""

import math
from collections.abc import Iterable

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


DAY_MS = 28_800_000
"""The reference period of eight hours (Directive 2002/44/EC, annex A.1; Directive 2003/10/EC, article 2)."""
ACTION_CMS2, LIMIT_CMS2 = 250, 500
"""Daily exposure A(8) for hand and arm: action value 2.5 m/s², limit value 5 m/s² (2002/44/EC, article 3.1)."""
ACTION_ENERGY, LIMIT_ENERGY = ACTION_CMS2**2 * DAY_MS, LIMIT_CMS2**2 * DAY_MS
NOISE_DDB = (800, 850, 870)
"""Daily noise exposure in tenths of dB(A): lower and upper action value, and the limit, which alone counts what the
hearing protection takes off (2003/10/EC, article 3)."""


def vibration_energy(cms2: int, ms: int) -> int:
    """Energy of *ms* with a machine of declared vibration *cms2* (hundredths of m/s²): cms2² ms; it adds up over a day.

    A(8) = a √(t / 8 h), so energies of eight hours at A(8) are what the limits are. Source: 2002/44/EC annex A.1 and
    ISO 5349-1. Raises ValueError outside 0 to 100 m/s² and 0 to 24 h.
    """
    if not 0 <= cms2 <= 10_000:
        raise ValueError(f"vibration {cms2 / 100:g} m/s² is outside 0 to 100 m/s²")
    _check_ms(ms)
    return cms2 * cms2 * ms


def a8_cms2(energy: int) -> int:
    """Daily exposure A(8) of a vibration *energy*, in hundredths of m/s², rounded up. Source: `vibration_energy`."""
    return math.isqrt(max(0, energy - 1) // DAY_MS) + 1 if energy > 0 else 0


def points(energy: int) -> int:
    """Exposure points, rounded up: 100 is the action value, 400 the limit; they add up over a day.

    Source: UK Health and Safety Executive, guidance L140, points of hand-arm vibration (from memory): 2 a² an hour.
    """
    return -(-energy * 100 // ACTION_ENERGY)


def time_left_ms(energy: int, cms2: int, most: int) -> int:
    """How long a machine of *cms2* may still be used until the day's *energy* is *most*; never below 0, at most a day.

    Ranges and errors as `vibration_energy`; a machine that does not vibrate may be used all day.
    """
    vibration_energy(cms2, 0)
    return min(86_400_000, max(0, most - energy) // cms2**2) if cms2 else 86_400_000


def noise_allowed_ms(ddb: int) -> int:
    """How long a level of *ddb* (tenths of dB(A)) may last in a day: 8 h at 85 dB(A), half for each 3 dB more.

    T = 8 h / 2^((L - 85) / 3). Source: NIOSH publication 98-126 (1998), 1.1.1; cut to whole ms. Raises
    ValueError outside 0 to 140 dB(A).
    """
    _check_ddb(ddb)
    return int(DAY_MS / 2 ** ((ddb - 850) / 30))


def noise_day_ddb(spells: Iterable[tuple[int, int]]) -> int | None:
    """Daily noise exposure L_EX,8h (tenths of dB(A), rounded up) of *spells* of (tenths of dB(A), ms).

    L = 10 lg(Σ tᵢ 10^(Lᵢ / 10) / 8 h). Source: 2003/10/EC, article 2, after ISO 1999. None without a sound;
    what is not told counts as silence. Raises ValueError outside 0 to 140 dB(A) and 0 to 24 h.
    """
    total = 0.0
    for ddb, ms in spells:
        _check_ddb(ddb)
        _check_ms(ms)
        total += ms * 10 ** (ddb / 100)
    return math.ceil(round(100 * math.log10(total / DAY_MS), 6)) if total else None


def _check_ddb(ddb: int) -> None:
    if not 0 <= ddb <= 1400:
        raise ValueError(f"noise {ddb / 10:g} dB(A) is outside 0 to 140 dB(A)")


def _check_ms(ms: int) -> None:
    if not 0 <= ms <= 86_400_000:
        raise ValueError(f"{ms} ms is outside 0 to 24 h")
