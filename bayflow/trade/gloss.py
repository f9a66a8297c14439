"""Gloss: at which angle it is reported. Values are whole tenths of a gloss unit (`dgu`)."""

GEOMETRIES = (20, 60, 85)
"""Degrees from the upright at which gloss meters measure (ISO 2813, ASTM D523)."""
MOST = 20_000
"""2000 gloss units, a mirror at 20°; painted surfaces stay far below."""


def geometry(at_60: int) -> int:
    """The angle (degrees) at which to report a surface that reads *at_60* (dgu) at 60°.

    Above 70 units 20°, below 10 units 85°, else 60°; 70.0 and 10.0 themselves stay at 60°. Source: ASTM D523,
    significance and use, as a public summary gives it; ISO 2813 has the same thresholds (from memory). Raises
    ValueError outside 0 to 2000 units.
    """
    if not 0 <= at_60 <= MOST:
        raise ValueError("gloss is from 0 to 2000 units")
    return 20 if at_60 > 700 else 85 if at_60 < 100 else 60
