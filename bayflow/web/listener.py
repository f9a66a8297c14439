"""
The small plain-HTTP listener beside the server: it helps phones to trust the shop's certificate.

It gives out the certificate, the page that explains it, the customer's card page (a customer has no shop
certificate), and a redirect to HTTPS for everything else. It reads no cookie, no token and no body.
"""

import io
import mimetypes
import plistlib
import re
import sys
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import quote
from wsgiref.types import StartResponse, WSGIApplication, WSGIEnvironment

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from werkzeug.wrappers import Request, Response

from bayflow.paths import STATIC, TEMPLATES
from bayflow.web.certificate import fingerprint

LANGUAGES = ("en", "es")
_CARD = re.compile(r"/[vV]/([A-Za-z2-7]{26})/?")
_LOOKS = re.compile(r"/static/((?:css|icons)/[\w-]+\.(?:css|svg|png))")
_QUERY = "!$&'()*+,;=:@/?%-._~"  # RFC 3986, what a query may hold as it is
_PASSED_ON = ("REQUEST_METHOD", "SERVER_NAME", "SERVER_PORT", "HTTP_HOST", "REMOTE_ADDR", "HTTP_ACCEPT_LANGUAGE")
FROM_LISTENER = "bayflow.listener"
"""Set in the environment of a card page that a customer asks for over plain HTTP."""
_KEPT_BACK = {"set-cookie", "strict-transport-security"}  # the phone's cookies and promises belong to HTTPS
_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "Server": "bayflow",
}


@dataclass(frozen=True, kw_only=True)
class Listener:
    """
    The listener as a WSGI application.

    *origin* is the server's address (`https://bay.local:8443`); *cards* answers `/v/CODE`, the office's own page.
    """

    origin: str
    ca_der: bytes
    ca_pem: bytes
    cards: WSGIApplication

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request."""
        request = Request(environ)
        card = _CARD.fullmatch(request.path)
        if request.method not in ("GET", "HEAD"):
            answer = Response(f"Nothing is sent here; use {self.origin}\n", 405, {"Allow": "GET, HEAD"})
        elif card:
            answer = self._card(card.group(1), environ)
        else:
            answer = self._own(request)
        for name, value in _HEADERS.items():
            answer.headers.setdefault(name, value)
        return answer(environ, start_response)

    def _own(self, request: Request) -> Response:
        path = request.path
        looks = _LOOKS.fullmatch(path)
        if path == "/":
            return Response(self._help(request), mimetype="text/html")
        if path == "/ca.crt":
            return _file(
                self.ca_der, "application/x-x509-ca-cert", "shop-ca.crt"
            )  # RFC 5280 DER; type: common practice
        if path == "/ca.pem":
            return _file(self.ca_pem, "application/x-pem-file", "shop-ca.pem")
        if path == "/ca.mobileconfig":
            return _file(profile(self.ca_der, self.origin), "application/x-apple-aspen-config", "shop-ca.mobileconfig")
        if looks and (STATIC / looks.group(1)).is_file():
            return Response((STATIC / looks.group(1)).read_bytes(), mimetype=mimetypes.guess_type(path)[0])
        query = "?" + quote(request.query_string, safe=_QUERY) if request.query_string else ""
        return Response("", 307, {"Location": self.origin + quote(path) + query})

    def _help(self, request: Request) -> str:
        language = request.accept_languages.best_match(LANGUAGES) or LANGUAGES[0]
        page = _pages.get_template(f"listener/help.{language}.html")
        host = self.origin.removeprefix("https://")
        return page.render(origin=self.origin, host=host, name=host.rsplit(":", 1)[0], rows=fingerprint(self.ca_der))

    def _card(self, code: str, environ: WSGIEnvironment) -> Response:
        """The customer's page, asked of the server's own application without anything else that the visitor sent."""
        asked: WSGIEnvironment = {name: environ[name] for name in _PASSED_ON if name in environ}
        asked |= {"SCRIPT_NAME": "", "PATH_INFO": f"/v/{code}", "QUERY_STRING": "", "SERVER_PROTOCOL": "HTTP/1.1"}
        asked |= {
            "wsgi.version": (1, 0),
            "wsgi.url_scheme": "http",
            "wsgi.input": io.BytesIO(),
            "wsgi.errors": sys.stderr,
        }
        asked |= {"wsgi.multithread": True, "wsgi.multiprocess": False, "wsgi.run_once": False, FROM_LISTENER: True}
        answer = Response.from_app(self.cards, asked, buffered=True)
        for name in _KEPT_BACK:
            answer.headers.remove(name)
        return answer


def profile(ca_der: bytes, origin: str) -> bytes:
    """The certificate as a configuration profile, which one family of phones asks for; the same bytes each time."""
    name = origin.removeprefix("https://")
    ids = [str(uuid.uuid5(uuid.NAMESPACE_URL, f"{origin}#{part}-{ca_der.hex()}")).upper() for part in ("profile", "ca")]
    common = {"PayloadVersion": 1, "PayloadDisplayName": f"Shop certificate of {name}"}
    certificate = common | {
        "PayloadType": "com.apple.security.root",
        "PayloadIdentifier": "bayflow.shop.ca",
        "PayloadUUID": ids[1],
        "PayloadCertificateFileName": "shop-ca.crt",
        "PayloadContent": ca_der,
    }
    return plistlib.dumps(
        common
        | {
            "PayloadType": "Configuration",
            "PayloadIdentifier": "bayflow.shop",
            "PayloadUUID": ids[0],
            "PayloadRemovalDisallowed": False,
            "PayloadContent": [certificate],
        }
    )


def _file(content: bytes, kind: str, name: str) -> Response:
    return Response(content, content_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'})


_pages = Environment(loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined)
