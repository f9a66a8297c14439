"""
Where things are below DATA.
"""

from dataclasses import dataclass
from pathlib import Path

from bayflow.store import names


@dataclass(frozen=True)
class Layout:
    """Where things are below DATA."""

    root: Path

    @property
    def jobs(self) -> Path:
        """Job files by month."""
        return self.root / "jobs"

    @property
    def index(self) -> Path:
        """Derived summaries."""
        return self.root / "index"

    @property
    def sheets(self) -> Path:
        """Compiled sheets by hash."""
        return self.root / "sheets"

    @property
    def photos(self) -> Path:
        """Photos by month and hash."""
        return self.root / "photos"

    @property
    def private(self) -> Path:
        """Personal data."""
        return self.root / "private"

    @property
    def state(self) -> Path:
        """Small derived documents."""
        return self.root / "state"

    @property
    def scratch(self) -> Path:
        """Unfinished files; emptied at each start."""
        return self.root / "scratch"

    def job(self, job: str) -> Path:
        """The file of a job, whose id is known to be one."""
        return self.jobs / names.month_of(job) / f"{job}.jsonl"

    def book(self, name: str) -> Path:
        """The ledger or the registry."""
        return self.root / f"{name}.jsonl"

    def folders(self) -> list[Path]:
        """All folders that a store needs, parents first."""
        private = [self.private / kind for kind in ("people", "vehicles")]
        return [self.jobs, self.index, self.sheets, self.photos, self.private, *private, self.state, self.scratch]
