"""Files of record. Imports nothing else of bayflow."""

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
