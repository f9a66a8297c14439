"""A store's life, told at random: the file store and the store in memory do the same things and must say the same."""

import shutil
import tempfile
from pathlib import Path

from entries import JOB, OLD, OTHER, FaultyDisk, count, crash, event, file_store, job_file
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule
from memory import MemoryStore

from bayflow.store import DiskFull, UnknownJob
from bayflow.store.verify import verify

AT = 1784000009000
JOBS = st.sampled_from([JOB, OTHER, OLD])
BATCH = st.lists(st.tuples(st.integers(1, 12), st.sampled_from(["even", "streaks"])), min_size=1, max_size=6)


class QuickFaultyDisk(FaultyDisk):
    """May run full; makes nothing durable, for speed."""

    def fdatasync(self, fd: int) -> None:
        """Nothing."""

    def fsync(self, fd: int) -> None:
        """Nothing."""


def answer(call):
    """What a call gives back, or which refusal."""
    try:
        return call()
    except UnknownJob as refusal:
        return str(refusal)


class Life(RuleBasedStateMachine):
    """Append, seal, note; crash, stop, run full, lose the index, break an end: the model knows what must be there."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="bayflow-life-"))
        self.disk = QuickFaultyDisk()
        self.files = file_store(self.folder, self.disk)
        self.model = MemoryStore(count)
        self.notes = 0

    def both(self, call):
        """The same call on both must give the same."""
        assert answer(lambda: call(self.files)) == answer(lambda: call(self.model))

    @rule(job=JOBS, batch=BATCH, new=st.booleans())
    def append(self, job, batch, new):
        """Ids repeat on purpose, with equal and with other content."""
        sent = [event(number, data={"answer": said}) for number, said in batch]
        self.both(lambda store: store.append(job, sent, new=new))

    @rule(job=JOBS, batch=BATCH, room=st.integers(0, 1500))
    def append_to_a_full_disk(self, job, batch, room):
        """Refused whole, or it fitted."""
        sent = [event(number, data={"answer": said}) for number, said in batch]
        self.disk.room = room
        try:
            receipts = self.files.append(job, sent, new=True)
        except DiskFull:
            return
        finally:
            self.disk.room = None
        assert receipts == self.model.append(job, sent, new=True)

    @rule(job=JOBS)
    def seal(self, job):
        """At whatever length the job has."""
        self.both(lambda store: store.seal(job, {"core": "1"}, AT))

    @rule(same=st.booleans())
    def note(self, same):
        """A new note, or the last one again."""
        self.notes += not same
        self.both(lambda store: store.note({"id": f"n{self.notes}", "type": "t", "at": AT}))

    @rule()
    def crash(self):
        """kill -9, and a start."""
        crash(self.files)
        self.files = file_store(self.folder, self.disk)
        assert self.files.alarms == []

    @rule()
    def stop(self):
        """An orderly stop, and a start."""
        self.files.close()
        assert (self.folder / "CLEAN").exists()
        self.files = file_store(self.folder, self.disk)

    @rule(job=JOBS, junk=st.binary(min_size=1, max_size=80))
    @precondition(lambda self: self.files.jobs())
    def crash_in_mid_write(self, job, junk):
        """A broken end: set aside, told once, nothing acknowledged lost."""
        crash(self.files)
        path = job_file(self.folder, job)
        if path.exists():
            with path.open("ab") as end:
                end.write(junk.replace(b"\n", b"-"))
        self.files = file_store(self.folder, self.disk)
        assert [alarm["job"] for alarm in self.files.alarms] == [job] * path.exists()
        for entry in self.files.registry()[len(self.model.registry()) :]:
            self.model.note({key: value for key, value in entry.items() if key not in ("seq", "prev")})

    @rule()
    def lose_the_index(self):
        """It is derived."""
        self.files.close()
        shutil.rmtree(self.folder / "index")
        self.files = file_store(self.folder, self.disk)

    @invariant()
    def both_say_the_same(self):
        """Events, heads, hashes, books and lists."""
        for job in (JOB, OTHER, OLD):
            self.both(lambda store, job=job: store.events(job))
            self.both(lambda store, job=job: store.head(job))
            self.both(lambda store, job=job: [store.hash_at(job, seq) for seq in range(4)])
        for ask in ("ledger", "registry", "ledger_head"):
            assert getattr(self.files, ask)() == getattr(self.model, ask)()
        for ask in ("jobs", "open_jobs", "latest"):
            rows = [{k: v for k, v in row.items() if k != "size"} for row in getattr(self.files, ask)()]
            assert rows == getattr(self.model, ask)()
        assert self.files.health is None

    def teardown(self):
        """What is left behind proves."""
        try:
            self.files.close()
            assert verify(self.folder) == []
        finally:
            shutil.rmtree(self.folder)


TestLife = Life.TestCase
TestLife.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)
