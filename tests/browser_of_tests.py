"""Which browser the tests start, and how."""

import os
import shutil

ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
]  # fmt: skip


def path() -> str | None:
    """The installed Chromium: BAYFLOW_CHROMIUM, else the system's, without windows where there is such a one.

    None lets Playwright take its own download.
    """
    names = (
        os.environ.get("BAYFLOW_CHROMIUM"),
        "chromium-headless-shell",
        "chromium",
        "chromium-browser",
        "google-chrome",
    )
    return next((found for name in names if name and (found := shutil.which(name))), None)
