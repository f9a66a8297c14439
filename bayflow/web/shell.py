"""The phone app's shell: a page, a worker and a manifest that are the same for everybody.

The worker carries the list of files that the app needs offline and a version made from their contents: one changed
byte in one of them is a new version, which the phone fetches beside the old one.
"""

import hashlib
import json
import re
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, jsonify, render_template

from bayflow import paths

blueprint = Blueprint("shell", __name__)

PAGE = "app.html"
WORKER = Path("js/app/sw.js")
_TYPES = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}
_FOLDERS = ("js/app", "js/core", "icons")
_MARK = re.compile(r"/\*SHELL\*/\s*\{.*?\}", re.DOTALL)
_LINKED = re.compile(r"(?<!data-module )(?:href|src)=\"/static/([\w./-]+)")
_IMPORTED = re.compile(r"(?:from|import)\s*\(?\s*\"(\.{1,2}/[\w./-]+)\"")
_COMMENT = re.compile(r"^[ \t]*(?://[^\n]*|/\*\*?(?:(?!\*/).)*?\*/[ \t]*)$", re.MULTILINE | re.DOTALL)
_SIZE = re.compile(r"(\d+)\.png$")


@blueprint.get("/app/")
def _page() -> Response:
    """The app. It holds nothing about anybody, so the worker may keep it."""
    response = Response(render_template(PAGE), mimetype="text/html")
    response.headers["Cache-Control"] = "no-cache"
    return response


@blueprint.get("/sw.js")
def _worker() -> Response:
    """The worker, with the list of what to keep and its version written in."""
    text = (paths.STATIC / WORKER).read_text("utf-8")
    shell = json.dumps(listing(), separators=(",", ":"))
    response = Response(_MARK.sub(lambda _: f"/*SHELL*/{shell}", text, count=1), mimetype="text/javascript")
    response.headers["Cache-Control"] = "no-cache"
    return response


@blueprint.get("/app/pack")
def _pack() -> Response:
    """What the worker keeps, in one piece."""
    return Response(json.dumps(pack(), ensure_ascii=False), mimetype="application/json")


@blueprint.get("/app.webmanifest")
def _manifest() -> Response:
    """What a phone needs to put the app on its home screen."""
    response = jsonify(manifest())
    response.mimetype = "application/manifest+json"
    response.headers["Cache-Control"] = "no-cache"
    return response


def manifest() -> dict[str, Any]:
    """The web app manifest (W3C), with every icon of static/icons that says its size in its name."""
    icons = [
        {"src": f"/static/icons/{icon.name}", "sizes": f"{size[1]}x{size[1]}", "type": "image/png",
         "purpose": "maskable" if "maskable" in icon.name else "any"}
        for icon in sorted((paths.STATIC / "icons").glob("*.png")) if (size := _SIZE.search(icon.name))
    ]  # fmt: skip
    vectors = [
        {"src": f"/static/icons/{icon.name}", "sizes": "any", "type": "image/svg+xml", "purpose": "any"}
        for icon in sorted((paths.STATIC / "icons").glob("*.svg"))
    ]
    return {
        "id": "/app/", "name": "Bayflow", "short_name": "Bayflow", "start_url": "/app/", "scope": "/app/",
        "display": "standalone", "background_color": "#ffffff", "theme_color": "#ffffff", "icons": icons + vectors,
    }  # fmt: skip


def listing() -> dict[str, Any]:
    """{version, files}: every address that the app needs offline, and a version made from what is behind them."""
    return _listing(_mark())


def pack() -> dict[str, Any]:
    """{version, files: {address: [media type, text]}}: all that the app needs but what its page loads by itself.

    Comments that fill whole lines are left out, a sixth of all bytes on the air; the lines stay, for error messages.
    """
    return {"version": listing()["version"], "files": _packed(_mark())}


Mark = tuple[tuple[str, int, int], ...]


def _mark() -> Mark:
    """Every file that the shell may be made of, with its time and size: as long as these stay, so does the shell."""
    found = [paths.TEMPLATES / PAGE, *(p for p in sorted(paths.STATIC.rglob("*")) if p.suffix in _TYPES)]
    return tuple((str(path), (stat := path.stat()).st_mtime_ns, stat.st_size) for path in found)


@lru_cache(maxsize=1)
def _listing(_: Mark) -> dict[str, Any]:
    found = {name: (paths.STATIC / name).read_bytes() for name in files()}
    page = (paths.TEMPLATES / PAGE).read_bytes()
    whole = hashlib.sha256()
    for name, content in [(PAGE, page), (str(WORKER), (paths.STATIC / WORKER).read_bytes()), *sorted(found.items())]:
        whole.update(f"{name}\0{len(content)}\0".encode() + content)
    return {
        "version": whole.hexdigest()[:16],
        "files": ["/app/", "/app.webmanifest", *(f"/static/{name}" for name in sorted(found))],
    }


@lru_cache(maxsize=1)
def _packed(_: Mark) -> dict[str, list[str]]:
    linked = _linked()
    return {
        f"/static/{name}": [_TYPES[Path(name).suffix], _bare((paths.STATIC / name).read_text("utf-8"))]
        for name in files()
        if name not in linked
    }


def _bare(text: str) -> str:
    return _COMMENT.sub(lambda found: "\n" * found[0].count("\n"), text)


def files() -> list[str]:
    """Names under static/ of what the app needs: its own folders, what its page links, and what those import.

    Icons as PNG are for the home screen, not for work: unless the page links one, none is kept offline.
    """
    own = {
        path.relative_to(paths.STATIC).as_posix()
        for folder in _FOLDERS
        for path in (paths.STATIC / folder).rglob("*")
        if path.is_file() and path.suffix in _TYPES
    }
    todo = own | _linked()
    found: set[str] = set()
    while todo:
        name = todo.pop()
        path = paths.STATIC / name
        if name not in found and path.is_file():
            found.add(name)
            if path.suffix == ".js":
                text = path.read_text("utf-8")
                todo |= {_resolved(path, other) for other in _IMPORTED.findall(text)} - found
    return sorted(found - {WORKER.as_posix()})


def _linked() -> set[str]:
    """Names under static/ of what the browser asks for as soon as it has read the page."""
    return set(_LINKED.findall((paths.TEMPLATES / PAGE).read_text("utf-8")))


def _resolved(path: Path, other: str) -> str:
    return (path.parent / other).resolve().relative_to(paths.STATIC.resolve()).as_posix()


@cache
def version() -> str:
    """A version of everything under static/, for addresses that may be kept for ever."""
    whole = hashlib.sha256()
    for path in sorted(p for p in paths.STATIC.rglob("*") if p.is_file()):
        whole.update(path.relative_to(paths.STATIC).as_posix().encode() + b"\0" + path.read_bytes())
    return whole.hexdigest()[:12]
