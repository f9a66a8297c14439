"""The contract of `Store`, run on every back end (fixture `store`)."""

from contract import *  # noqa: F403
