"""What each test's own application would work out anew, worked out once a process: routes, templates, dear PINs."""

import io
from types import FunctionType
from typing import Any

from jinja2 import BytecodeCache
from jinja2.bccache import Bucket
from werkzeug.routing import Rule

from bayflow.shop import verifier
from bayflow.web.app import Bay

_builders: dict[tuple[str, bool], FunctionType] = {}
_templates: dict[tuple[str, str], bytes] = {}


class _Rule(Rule):
    """A route whose builder of addresses is compiled once: it follows from the route's text alone."""

    def _compile_builder(self, append_unknown: bool = True) -> Any:
        key = self.rule, append_unknown
        if self.defaults:
            return super()._compile_builder(append_unknown)
        if key not in _builders:
            _builders[key] = super()._compile_builder(append_unknown)
        return _builders[key]


class _Templates(BytecodeCache):
    """Compiled templates, by name and by a digest of their source."""

    def load_bytecode(self, bucket: Bucket) -> None:
        kept = _templates.get((bucket.key, bucket.checksum))
        if kept:
            bucket.load_bytecode(io.BytesIO(kept))

    def dump_bytecode(self, bucket: Bucket) -> None:
        into = io.BytesIO()
        bucket.write_bytecode(into)
        _templates[bucket.key, bucket.checksum] = into.getvalue()


def install() -> None:
    """For this process: nothing that a test could see changes, but that a PIN's verifier is cheap."""
    Bay.url_rule_class = _Rule
    Bay.jinja_options = {"bytecode_cache": _Templates()}
    verifier.COST = 2**4
