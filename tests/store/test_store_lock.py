"""One writing process a folder."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from entries import JOB, event, file_store

from bayflow.store import BadFolder, Locked
from bayflow.store.lock import holder_of, refuse_network_disk

ROOT = Path(__file__).resolve().parents[2]
OPEN = """
import sys
sys.path[:0] = [{root!r}, {here!r}]
from entries import JOB, event, file_store
from bayflow.store import StoreError
"""


def run(code: str, *args: str) -> subprocess.CompletedProcess[str]:
    head = OPEN.format(root=str(ROOT), here=str(Path(__file__).parent))
    return subprocess.run(
        [sys.executable, "-c", head + code, *args], capture_output=True, text=True, timeout=60, check=False
    )


def test_a_second_server_is_refused_and_told_who_holds_the_folder(folder):
    """The message names the process and since when; reading and writing go on in the first."""
    store = file_store(folder, opened_at=1784013912000)

    done = run("try: file_store(sys.argv[1])\nexcept StoreError as e: print(type(e).__name__, e)", str(folder))

    assert done.stdout.startswith("Locked "), done.stderr
    assert f"process {os.getpid()} has been serving" in done.stdout
    assert "since 2026-07-14 07:25:12 UTC" in done.stdout
    assert store.append(JOB, [event(1)], new=True)[0].state == "stored"
    store.close()


def test_two_stores_in_one_process_are_refused_too(folder):
    """flock counts openings, not processes."""
    store = file_store(folder)

    with pytest.raises(Locked) as refused:
        file_store(folder)

    assert refused.value.pid == os.getpid()
    store.close()
    file_store(folder).close()


def test_the_lock_goes_with_the_process(folder):
    """After a kill the folder is free at once; nobody has to remove a file."""
    done = run(
        "import os, signal\nfile_store(sys.argv[1]).append(JOB, [event(1)], new=True)\n"
        "os.kill(os.getpid(), signal.SIGKILL)",
        str(folder),
    )
    assert done.returncode == -9

    assert holder_of(folder) is None
    again = file_store(folder)
    assert again.head(JOB).n == 1
    again.close()


def test_a_forked_child_must_not_write(folder):
    """A child inherits the lock and the open files; every kind of write is refused there, the parent goes on."""
    code = """
import os
store = file_store(sys.argv[1]); store.append(JOB, [event(1)], new=True); store.put_private("people", "p", {})
child = os.fork()
if child == 0:
    for write in (lambda: store.append(JOB, [event(2)]), lambda: store.seal(JOB, {}, 1), lambda: store.put_sheet({}),
                  lambda: store.put_photo(b"x", "2026-07"), lambda: store.put_private("people", "p", {"a": 1}),
                  lambda: store.erase_private("people", "p"), lambda: store.put_state("s", {}), store.close):
        try: write(); print("wrote")
        except StoreError as e: print(type(e).__name__)
    sys.stdout.flush(); os._exit(0)
os.waitpid(child, 0)
print(store.append(JOB, [event(3)])[0].seq); store.close()
"""
    done = run(code, str(folder))

    assert done.stdout.split() == ["Forked"] * 8 + ["2"], done.stderr


def test_looking_whether_a_folder_is_served_disturbs_nobody(folder):
    """`verify` asks beside a server; a server that starts at that very moment waits it out."""
    assert holder_of(folder) is None
    store = file_store(folder, opened_at=5)
    held = holder_of(folder)
    assert (held.pid, held.since) == (os.getpid(), 5)
    store.close()
    assert holder_of(folder) is None


def mounts(kind: str) -> str:
    return (
        "21 1 8:1 / / rw,relatime shared:1 - ext4 /dev/a rw\n"
        f"40 21 0:44 / /srv/shop\\040data rw shared:9 - {kind} server:/x rw\n"
    )


@pytest.mark.parametrize("kind", ["nfs4", "cifs", "fuse.sshfs"])
def test_a_network_disk_is_refused(kind):
    """A lock holds on one computer; two computers on one share would both write (mountinfo as in proc(5))."""
    with pytest.raises(BadFolder, match="network disk"):
        refuse_network_disk(Path("/srv/shop data/bay"), mounts(kind))


def test_an_own_disk_is_fine():
    """The mount point that is nearest decides, not a name that begins alike."""
    refuse_network_disk(Path("/srv/shop data/bay"), mounts("xfs"))
    refuse_network_disk(Path("/srv/shop database"), mounts("nfs4"))
    refuse_network_disk(Path("/home"), mounts("nfs4") + "junk\n\n41 - \n")


@pytest.mark.parametrize("content", [b"bayflow-store 2\n", b"", b"\xff\xfe"])
def test_a_folder_of_another_format_is_refused(folder, content):
    """A newer format is not touched."""
    folder.mkdir()
    (folder / "FORMAT").write_bytes(content)

    with pytest.raises(BadFolder, match="FORMAT"):
        file_store(folder)

    assert holder_of(folder) is None


def test_a_folder_that_lost_its_format_is_refused(folder):
    """Jobs without FORMAT: something was taken away."""
    file_store(folder).close()
    (folder / "FORMAT").unlink()

    with pytest.raises(BadFolder, match="missing"):
        file_store(folder)


def test_a_file_in_the_place_of_the_folder_is_a_sentence(tmp_path):
    """Not a traceback."""
    (tmp_path / "data").write_text("x")

    with pytest.raises(BadFolder, match="cannot be a data folder"):
        file_store(tmp_path / "data")
