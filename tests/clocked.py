"""The application with a clock that a test holds, for a server in a process of its own. No command ships this."""

import json
import time
from pathlib import Path
from typing import Any

from bayflow.shop import demo
from bayflow.web.app import Bay, create_app


def create(data: Path, *, clock_file: str, origin: str, demo_at: int | None = None, key_folder: str = "") -> Bay:
    """The shop in *data*; its clock is the computer's plus the offset (ms) in *clock_file*, or stands at `frozen`.

    With *demo_at* an empty shop is first filled with the invented demo shop of that moment.
    """
    file = Path(clock_file)

    def clock() -> int:
        told: dict[str, Any] = json.loads(file.read_text("utf-8"))
        if "frozen" in told:
            return int(told["frozen"])
        return time.time_ns() // 1_000_000 + int(told["offset"])

    app = create_app(data, clock=clock, origin=origin, key_folder=key_folder or None)
    if demo_at is not None and not app.shop.store.jobs():
        demo.make(app.shop, now=demo_at)
    return app
