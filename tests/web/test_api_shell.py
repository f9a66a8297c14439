"""The app's shell: one page, one worker that knows every file, one manifest."""

import json
import re
import shutil
from pathlib import Path

import pytest

from bayflow import paths
from bayflow.web import shell


def worker_listing(client) -> dict[str, object]:
    """The list that the server wrote into the worker."""
    text = client.get("/sw.js").get_data(as_text=True)
    found = re.search(r"const SHELL = /\*SHELL\*/(\{.*?\});", text)
    assert found
    listing: dict[str, object] = json.loads(found[1])
    return listing


def test_every_file_of_the_list_is_there(client):
    """One missing file and the worker never installs: each address answers 200 without a redirect."""
    listing = worker_listing(client)
    answers = {}
    for path in listing["files"]:
        response = client.get(path)
        answers[path] = response.status_code
        response.close()

    assert set(answers.values()) == {200}
    assert {"/app/", "/app.webmanifest", "/static/js/app/main.js", "/static/js/core/gate.js"} <= answers.keys()
    assert "/static/js/app/sw.js" not in answers


def test_every_import_of_the_app_is_in_the_list(client):
    """Offline nothing is fetched: whatever a listed module imports is listed too."""
    listed = set(worker_listing(client)["files"])
    missing = []
    for name in listed:
        if not name.endswith(".js"):
            continue
        file = paths.STATIC / name.removeprefix("/static/")
        for other in re.findall(r"""(?:from|import)\s*\(?\s*["'](\.[^"']+)["']""", file.read_text("utf-8")):
            target = (file.parent / other).resolve().relative_to(paths.STATIC.resolve()).as_posix()
            if f"/static/{target}" not in listed:
                missing.append((name, other))

    assert missing == []


def test_the_page_links_only_what_is_listed(client):
    """Style, script and icons of the page are in the list."""
    text = client.get("/app/").get_data(as_text=True)
    linked = set(re.findall(r'(?:href|src)="([^"#]+)"', text))

    assert linked <= set(worker_listing(client)["files"])
    assert linked


def test_one_changed_byte_is_a_new_version(tmp_path: Path, monkeypatch):
    """The version is made from the contents; two readings of the same files agree."""
    copy = shutil.copytree(paths.STATIC, tmp_path / "static")
    monkeypatch.setattr(paths, "STATIC", copy)
    first, again = shell.listing(), shell.listing()
    with (copy / "js/core/gate.js").open("a") as file:
        file.write(" ")

    assert first == again
    assert shell.listing()["version"] != first["version"]
    assert shell.listing()["files"] == first["files"]


def test_the_shell_is_the_same_for_everybody(bay, who, client, paired):
    """No name, token or setting is in it, so that the worker may keep it."""
    phone = paired()
    plain = client.get("/app/")
    signed = bay.test_client().get("/app/", headers={**phone.headers, "Cookie": "desk=x"})

    assert plain.data == signed.data
    assert "Set-Cookie" not in plain.headers
    assert plain.headers["Cache-Control"] == "no-cache"


def test_the_worker_may_look_after_the_app(client):
    """A worker at the root, as script, never from a cache of the browser's."""
    response = client.get("/sw.js")

    assert response.mimetype == "text/javascript"
    assert response.headers["Cache-Control"] == "no-cache"


def test_the_manifest_lets_a_phone_install_the_app(client):
    """W3C manifest: name, start inside the scope, standalone, icons of 192 and 512 px, one of them maskable."""
    response = client.get("/app.webmanifest")
    manifest = response.get_json(force=True)

    assert response.mimetype == "application/manifest+json"
    assert manifest["start_url"].startswith(manifest["scope"])
    assert manifest["display"] == "standalone"
    assert {"192x192", "512x512"} <= {i["sizes"] for i in manifest["icons"]}
    assert "maskable" in {i["purpose"] for i in manifest["icons"]}


@pytest.mark.parametrize(("query", "kept"), [("", "no-cache"), ("?v=old", "no-cache"), (None, "immutable")])
def test_static_files_are_asked_for_again_unless_named_by_version(client, query, kept):
    """With the right version for ever, else with a check by ETag; a matching ETag costs 304 and no bytes."""
    query = f"?v={shell.version()}" if query is None else query
    response = client.get(f"/static/css/ink.css{query}")
    again = client.get(f"/static/css/ink.css{query}", headers={"If-None-Match": response.headers["ETag"]})

    assert kept in response.headers["Cache-Control"]
    assert (again.status_code, again.data) == (304, b"")
    response.close()
    again.close()


@pytest.mark.parametrize("path", ["../bayflow/cli.py", "%2e%2e/pyproject.toml", "js/../../README.md", "none.css"])
def test_static_gives_nothing_from_outside(client, path):
    """Only files under static/ are served."""
    response = client.get(f"/static/{path}")

    assert response.status_code == 404
    response.close()
