"""The chained line: canonical form, and what a reader makes of a file that is not as it was written."""

import hashlib
import json

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from bayflow.store import chain

KEYS = st.text(st.characters(max_codepoint=127), max_size=8)
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
WHOLE = st.integers(-(2**53) + 1, 2**53 - 1)
VALUES = st.recursive(
    st.none() | st.booleans() | WHOLE | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=25,
)


def file_of(entries, job=None):
    """A file of record with *entries*."""
    out, prev = [], chain.ZERO
    for seq, entry in enumerate(entries, 1):
        body, prev = chain.link({**entry} if job is None else {**entry, "job": job}, seq, prev)
        out.append(chain.line(body, prev))
    return b"".join(out)


FILE = file_of([{"id": f"e{n}", "words": "Capó 車 ok"} for n in range(4)], "J-1")
ENDS = [at + 1 for at, byte in enumerate(FILE) if byte == 10]


@given(VALUES)
def test_the_canonical_form_is_rfc_8785(value):
    """Byte for byte what the reference package `rfc8785` makes of any value that the store takes."""
    assert chain.fault_of(value) is None
    assert chain.canon(value) == rfc8785.dumps(value)


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.binary(max_size=3),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    )
)
def test_whatever_is_let_in_has_one_form(value):
    """Any value at all is either refused in words or has the reference's form and survives a round trip."""
    fault = chain.fault_of(value)
    if fault is None:
        assert chain.canon(value) == rfc8785.dumps(value)
        assert json.loads(chain.canon(value)) == value
    else:
        assert fault.strip()


@pytest.mark.parametrize(
    "value", [0.0, 1e300, float("inf"), 2**53, -(2**53), "\udfff", "a\ud800b", {"é": 1}, {2: 1}, b""]
)
def test_what_two_languages_would_write_differently_is_refused(value):
    """No floats, no integer that JavaScript rounds, no half characters, no keys whose order depends on the encoding."""
    assert chain.fault_of({"x": [value]}) is not None


def test_a_line_is_hash_space_body_lf():
    """The file can be checked with sha256sum and a text editor."""
    first = FILE.split(b"\n")[0]

    assert first[64:65] == b" "
    assert hashlib.sha256(first[65:]).hexdigest() == first[:64].decode()
    assert json.loads(first[65:]) == {"id": "e0", "job": "J-1", "prev": "0" * 64, "seq": 1, "words": "Capó 車 ok"}


def test_a_sound_file_is_read_whole():
    """All entries, the head, the size, no fault."""
    found = chain.scan(FILE, "J-1")

    assert ([e["id"] for e in found.entries], found.size, found.fault) == (["e0", "e1", "e2", "e3"], len(FILE), None)
    assert found.head == FILE.split(b"\n")[3][:64].decode()
    assert chain.scan(b"").head == "0" * 64


@pytest.mark.parametrize("filler", [b"", b"\0", b"\n", b"x"], ids=["cut", "zeros", "line feeds", "junk"])
def test_a_torn_end_leaves_exactly_the_sound_beginning(filler):
    """However a write is cut short, at every byte, the entries before it stand and the offset says where it begins."""
    for cut in range(len(FILE) + 1):
        torn = FILE[:cut] + filler * (len(FILE) - cut)
        whole = sum(torn[:end] == FILE[:end] for end in ENDS)

        found = chain.scan(torn, "J-1")

        assert len(found.entries) == whole
        assert found.size == ([0, *ENDS][whole])
        if torn[found.size :]:
            assert found.fault == chain.Fault("torn", whole + 1, found.size)
        else:
            assert found.fault is None


def test_no_flipped_bit_passes():
    """Every bit of the file: damage where sound lines follow, a torn end in the last line, never believed."""
    for at in range(len(FILE)):
        hit = sum(end <= at for end in ENDS)
        wanted = chain.Fault("torn" if hit == 3 else "damaged", hit + 1, [0, *ENDS][hit])
        for bit in range(8):
            data = bytearray(FILE)
            data[at] ^= 1 << bit

            found = chain.scan(bytes(data), "J-1")

            assert (len(found.entries), found.fault) == (hit, wanted), (at, bit)


def lines():
    return FILE.splitlines(keepends=True)


@pytest.mark.parametrize(
    ("rows", "seq"),
    [
        (lambda: [*lines()[:1], *lines()[2:]], 2), (lambda: [lines()[1], lines()[0]], 1),
        (lambda: [*lines(), lines()[3]], 5), (lambda: [*lines()[:2], lines()[1]], 3),
        (lambda: [b"junk\n", *lines()], 1),
    ],
    ids=["line taken out", "lines exchanged", "last line twice", "line repeated", "line put before"],
)  # fmt: skip
def test_moved_lines_are_damage(rows, seq):
    """Each line is sound in itself, and the chain still tells."""
    fault = chain.scan(b"".join(rows()), "J-1").fault

    assert (fault.kind, fault.seq) == ("damaged", seq)


@pytest.mark.parametrize(
    "body", [b"[]", b"1", b"{}", b'{"seq":1}', b"not json", b'{"a":1},{"b":2}', b"\xff", b"", b"[" * 9999]
)
def test_a_sound_hash_over_nonsense_is_damage(body):
    """Somebody who can hash can write such a line; it is named, not crashed on."""
    fault = chain.scan(chain.line(body, chain.sha256(body)) + FILE).fault

    assert (fault.kind, fault.seq) == ("damaged", 1)


def test_a_line_of_another_history_is_damage():
    """Sound in itself, right number, right job: it follows another line than the one before it."""
    other = file_of([{"id": f"x{n}"} for n in range(4)], "J-1").splitlines(keepends=True)

    fault = chain.scan(b"".join([*lines()[:2], other[2], lines()[3]]), "J-1").fault

    assert fault == chain.Fault("damaged", 3, ENDS[1])


def test_the_file_of_another_job_is_damage():
    """A file copied under another job's name is not that job."""
    assert chain.scan(FILE, "J-2").fault == chain.Fault("damaged", 1, 0)


def test_an_id_comes_once():
    """Two entries of one id were never written by a store."""
    assert chain.scan(file_of([{"id": "a"}, {"id": "a"}])).fault == chain.Fault("damaged", 2, ENDS_OF_ONE)


ENDS_OF_ONE = len(file_of([{"id": "a"}]))


def test_a_lost_line_feed_is_damage_even_before_the_last_line():
    """Two lines run into one: the second is still sound, so nothing was torn here."""
    for end in ENDS[:-1]:
        for byte in (b"", b"\v", b" "):
            found = chain.scan(FILE[: end - 1] + byte + FILE[end:], "J-1")

            assert found.fault.kind == "damaged"
            assert found.fault.seq == ENDS.index(end) + 1
