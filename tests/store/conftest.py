"""Stores to test: every back end for the contract, and the file store in a folder of its own."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from entries import count, file_store
from memory import MemoryStore

from bayflow.store import FileStore
from bayflow.store.protocol import Store

pytest.register_assert_rewrite("contract")


@pytest.fixture(params=["files", "memory"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """An empty store of each kind."""
    made: Store = file_store(tmp_path / "data") if request.param == "files" else MemoryStore(count)
    yield made
    made.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where the file store of a test lives."""
    return tmp_path / "data"


@pytest.fixture
def files(folder: Path) -> Iterator[FileStore]:
    """An empty file store."""
    made = file_store(folder)
    yield made
    made.close()
