"""
What is known of jobs without reading them: their seals, how long each was, which were never sealed.
"""

from bayflow.store.chain import Entry
from bayflow.store.refs import is_seal


class Known:
    """Filled at the start and kept up by the one who writes; read from any thread."""

    def __init__(self) -> None:
        self._seals: dict[str, Entry] = {}
        self._lengths: dict[str, int] = {}
        self._open: set[str] = set()

    def found(self, open_jobs: dict[str, int]) -> None:
        """The start found these jobs unsealed, with so many entries."""
        self._lengths.update(open_jobs)
        self._open.update(open_jobs)

    def wrote(self, job: str, n: int) -> None:
        """The job now has *n* durable entries."""
        self._lengths[job] = n
        self._open.add(job)
        if job in self._seals:  # asked after adding: a seal in another thread then takes it away, or we do
            self._open.discard(job)

    def sealed(self, entry: Entry) -> None:
        """A ledger entry; one that is no seal is passed over."""
        if is_seal(entry):
            job = entry["job"]
            if entry["n"] >= self.sealed_n(job):
                self._seals[job] = entry
            self._open.discard(job)

    def seal(self, job: str) -> Entry | None:
        """The latest seal of *job*."""
        return self._seals.get(job)

    def sealed_n(self, job: str) -> int:
        """How many entries the latest seal covers, 0 without one."""
        seal = self._seals.get(job)
        return int(seal["n"]) if seal else 0

    def least(self, job: str) -> int:
        """So many entries the job must have."""
        return max(self._lengths.get(job, 0), self.sealed_n(job))

    def is_open(self, job: str) -> bool:
        """Was the job begun and never sealed?"""
        return job in self._open

    def open_jobs(self) -> list[str]:
        """All jobs never sealed, newest first."""
        return sorted(self._open, reverse=True)
