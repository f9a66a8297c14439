"""A QR code in half-block characters: two modules above each other in one cell of a terminal."""

from bayflow.web.labels import QUIET_ZONE, Matrix, qr_matrix

_CELLS = {(True, True): "█", (True, False): "▀", (False, True): "▄", (False, False): " "}
_BLACK_ON_WHITE, _PLAIN = "\x1b[30;107m", "\x1b[0m"


def terminal_qr(text: str, *, colour: bool = True) -> str:
    """
    *text* as lines for a terminal, quiet zone included.

    With *colour* the code is black on white whatever the terminal's own colours; without, the light modules are
    drawn, which comes out right on a dark terminal. Raises `labels.NotALabel` if the text is too long.
    """
    rows = _with_quiet_zone(qr_matrix(text, level="L"))
    if not colour:
        rows = [[not dark for dark in row] for row in rows]
    if len(rows) % 2:
        rows.append([not colour] * len(rows[0]))
    lines = (
        "".join(_CELLS[pair] for pair in zip(upper, lower, strict=True))
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    )
    return "\n".join(f"{_BLACK_ON_WHITE}{line}{_PLAIN}" if colour else line for line in lines)


def _with_quiet_zone(matrix: Matrix) -> Matrix:
    width = len(matrix) + 2 * QUIET_ZONE
    white = [[False] * width for _ in range(QUIET_ZONE)]
    side = [False] * QUIET_ZONE
    return [*white, *([*side, *row, *side] for row in matrix), *white]
