"""
The store: files of record in one data folder. Imports nothing else of bayflow.

Read `protocol` (what the shop asks of a store), `chain` (the one line format), `log` (a file as an append-only
TinyDB), `pen` and `writer` (how something is written), `data_folder` and `recovery` (what a start does), `file_store`
(what puts it together).

    DATA/ FORMAT              "bayflow-store 1"
          LOCK                held by the serving process; says its id and start time
          CLEAN               written last at an orderly stop, removed first at a start
          jobs/2026-07/J-20260714-0007.jsonl     the log of one job
          ledger.jsonl        seals of jobs, restores, day closings
          registry.jsonl      people, vehicles, phones, approvals, erasures: ids and digests, never personal data
          sheets/HASH.json    compiled sheets, photos/2026-07/HASH.jpg photos: named by the SHA-256 of their content
          private/people/ID.json, private/vehicles/ID.json     personal data; may be put right and erased
          state/              small derived documents, may be lost
          index/2026-07.json  summaries of a month's jobs, derived, may be thrown away
          scratch/            unfinished files, emptied at each start

**One line an entry**: `sha256(body) SP body LF`, the body in canonical JSON (RFC 8785) with `seq` and `prev`, the
hash of the body before. Changing, moving or taking out a line breaks the chain; `sha256sum` and a text editor are
enough to check it. Each such file is a TinyDB (`log.LogDB`) whose storage appends and refuses all else, each index
a TinyDB of summaries. TinyDB gives the document interface; that nothing is lost is the work of
`log.AppendOnlyStorage`: stock TinyDB rewrites its whole file in place at every insert, and its own documents advise
against threads, several processes and hopes of ACID.

**What holds** (each has its tests):

- Acknowledged is on disk: file and folder synced before `append` returns. After a start, what lay in the page cache
  is synced before a resent entry is called *had*.
- The same id with the same content is *had*, with other content a *conflict*; fields added on arrival don't count.
- Nothing before the end of a file of record is ever written. Broken ends are kept beside the file (`.torn-…`), told
  as an alarm and noted in the registry; damaged files stay as they are, readable up to the damage, and take
  nothing.
- One writing process (flock; a forked child is refused), one writer at a time. Writers don't have a thread: whoever
  comes first writes for all who wait (`writer`), so that a lone event pays no change of threads, and a crowd shares
  its fdatasync.
- After any failed fsync nothing more is taken, because the next fsync may lie. A full disk is rolled back and
  refused; below 500 MB no job is begun.
- A sealed job may not get shorter than its seal, an open one not shorter than CLEAN or the index knew: that is an
  alarm or damage, never silence. Lost index, lost CLEAN: nothing is lost, the start takes longer.

**A start** after an orderly stop reads the ledger and believes CLEAN: no job file is read until it is asked for.
Any other start proves every job that does not end where the ledger sealed it, and both books, and writes them anew
to fresh files, since a cache that once failed to reach the disk is not to be trusted. A job that is read is proven
as it is read; the last few dozen stay in memory (`shelf`).

**Proof from outside**: whoever owns the disk can chain everything anew. So heads leave the house: printed cards
(`cards`) carry the job's head and the ledger's, which pins all jobs sealed before; phones keep their last receipts
(`hash_at`). `verify.verify(folder, card)` proves a folder, also beside a running server. `backup.backup` copies
while serving, what names before what is named, and never overwrites a better copy; `backup.restore` proves before
it replaces, keeps what it replaces, and does every logged erasure again.

**Limits**: evidence, not prevention. An fsync is as good as the drive; a drive that lies loses data, and the phones
are then the second copy. The last events of an open job are pinned only by phones and cards. Linux and macOS; no
network disks. Tested on ext4; power cuts are tested by what was synced when, not by cutting power.

**Another back end** passes `tests/store/contract.py`; `tests/store/memory.py` is one. It keeps the same bytes and
hashes.
"""

from bayflow.store.errors import (
    BadEntry,
    BadFolder,
    BadName,
    Damaged,
    DiskFull,
    DiskLow,
    Forked,
    Locked,
    ReadOnly,
    StoreError,
    UnknownBlob,
    UnknownJob,
)
from bayflow.store.file_store import FileStore
from bayflow.store.protocol import Head, Receipt, Store, erasure

__all__ = [
    "BadEntry",
    "BadFolder",
    "BadName",
    "Damaged",
    "DiskFull",
    "DiskLow",
    "FileStore",
    "Forked",
    "Head",
    "Locked",
    "ReadOnly",
    "Receipt",
    "Store",
    "StoreError",
    "UnknownBlob",
    "UnknownJob",
    "erasure",
]
