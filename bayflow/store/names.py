"""
Which names may become part of a file name: everything else is refused before the file system sees it.
"""

import re

from bayflow.store.errors import BadName

_JOB = re.compile(r"J-(\d{4})(0[1-9]|1[0-2])(0[1-9]|[12]\d|3[01])-\d{4}", re.ASCII)
_MONTH = re.compile(r"\d{4}-(0[1-9]|1[0-2])", re.ASCII)
_DIGEST = re.compile(r"[0-9a-f]{64}", re.ASCII)
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}", re.ASCII)
_STATE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}(/[A-Za-z0-9][A-Za-z0-9_-]{0,63}){0,2}", re.ASCII)

KINDS = ("people", "vehicles")


def job_id(name: object) -> str:
    """*name*, a job id `J-YYYYMMDD-NNNN`; raises BadName."""
    return _fitting(_JOB, name, "a job id such as J-20260714-0007")


def is_job(name: str) -> bool:
    """Is *name* a job id?"""
    return _JOB.fullmatch(name) is not None


def month_of(job: str) -> str:
    """The month folder `YYYY-MM` of a job id that is known to be one."""
    return f"{job[2:6]}-{job[6:8]}"


def month(name: object) -> str:
    """*name*, a month `YYYY-MM`; raises BadName."""
    return _fitting(_MONTH, name, "a month such as 2026-07")


def is_month(name: str) -> bool:
    """Is *name* a month `YYYY-MM`?"""
    return _MONTH.fullmatch(name) is not None


def digest(name: object) -> str:
    """*name*, a SHA-256 in 64 lower-case hex digits; raises BadName."""
    return _fitting(_DIGEST, name, "a SHA-256 of 64 lower-case hex digits")


def is_digest(name: str) -> bool:
    """Is *name* a SHA-256 in 64 lower-case hex digits?"""
    return _DIGEST.fullmatch(name) is not None


def private_id(name: object) -> str:
    """*name*, the id of a person or vehicle; raises BadName."""
    return _fitting(_ID, name, "1 to 64 letters, digits, - or _, beginning with a letter or digit")


def kind(name: object) -> str:
    """*name*, a kind of private file; raises BadName."""
    if name not in KINDS:
        raise BadName(name, "people or vehicles")
    return str(name)


def state(name: object) -> str:
    """*name*, up to three ids joined by slashes; raises BadName."""
    return _fitting(_STATE, name, "up to three plain names joined by slashes, such as phones/p1")


def _fitting(pattern: re.Pattern[str], name: object, expected: str) -> str:
    if not isinstance(name, str) or pattern.fullmatch(name) is None:
        raise BadName(name, expected)
    return name
