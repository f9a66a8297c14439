"""Where the shipped files are: beside the package in a checkout, inside it in a wheel."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent
_ROOT = _PACKAGE if (_PACKAGE / "procedures").is_dir() else _PACKAGE.parent

STATIC = _ROOT / "static"
TEMPLATES = _ROOT / "templates"
LIBRARY = _ROOT / "procedures"
