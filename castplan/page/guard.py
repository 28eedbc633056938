"""Who may talk to the page's server, and what a browser may do with its answers.

A page of another origin must not reach a server on this computer: its name may
be turned to 127.0.0.1 after it was loaded (DNS rebinding), so the Host header
must be one of ours; a form of it may be sent here, so a request that changes
anything must come from our own origin and carry the token that our page was
given. Both are the usual defences (OWASP Cheat Sheet Series, "Cross-Site
Request Forgery Prevention").
"""

import asyncio
import base64
import binascii
import hmac
import ipaddress

from starlette.responses import JSONResponse

TOKEN_HEADER = "x-castplan-token"
SAFE_METHODS = ("GET", "HEAD")
_HEADERS = (
    (
        b"content-security-policy",
        b"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
        b"connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'",
    ),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
_WRONG_PASSWORD_S = 1.0


class Guard:
    """ASGI middleware around the page's application.

    Parameters
    ----------
    app
        The application.
    token : str
        What a request that changes anything has to carry.
    password : str or None
        Asked for where the server can be reached from other computers.
    """

    def __init__(self, app, *, token: str, password: str | None = None):
        self._app = app
        self._token = token
        self._password = password
        self._guessing = asyncio.Lock()

    async def __call__(self, scope, receive, send):
        """Refuse, or pass on and add the headers."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = dict(scope["headers"])

        async def send_guarded(message):
            if message["type"] == "http.response.start":
                kept = [*message.get("headers", []), *_HEADERS]
                if not any(name == b"cache-control" for name, _ in kept):
                    kept.append((b"cache-control", b"no-store"))
                message = {**message, "headers": kept}
            await send(message)

        status, line = await self._refusal(scope["method"], headers)
        if status:
            ask = {"WWW-Authenticate": 'Basic realm="castplan"'} if status == 401 else None
            answer = JSONResponse({"error": line}, status_code=status, headers=ask)
            await answer(scope, receive, send_guarded)
            return
        await self._app(scope, receive, send_guarded)

    async def _refusal(self, method, headers):
        host = headers.get(b"host", b"").decode("latin-1")
        if not self._is_own(host):
            return 421, "host: found another name, need this computer's. Open the page as shown."
        told = headers.get(b"authorization", b"")
        if self._password is not None and not self._is_let_in(told):
            if told:
                # One after the other: many at once guess no faster.
                async with self._guessing:
                    await asyncio.sleep(_WRONG_PASSWORD_S)
            return 401, "password: found none or a wrong one, need the one of this server. Type it."
        if method in SAFE_METHODS:
            return 0, ""
        origin = headers.get(b"origin", b"").decode("latin-1")
        if origin and origin != f"http://{host}":
            return 403, "origin: found another page, need castplan's own. Open castplan's page."
        given = headers.get(TOKEN_HEADER.encode(), b"")
        if not hmac.compare_digest(given, self._token.encode()):
            return 403, "token: found none or an old one, need this run's. Load the page again."
        return 0, ""

    def _is_own(self, host):
        name = host.rpartition(":")[0] if not host.endswith("]") and ":" in host else host
        if name.lower() == "localhost":
            return True
        try:
            address = ipaddress.ip_address(name.strip("[]"))
        except ValueError:
            return False
        # A number cannot be turned to another computer, as a name can.
        return address.is_loopback or self._password is not None

    def _is_let_in(self, authorization):
        kind, _, told = authorization.partition(b" ")
        try:
            given = base64.b64decode(told, validate=True).partition(b":")[2]
        except binascii.Error:
            return False
        wanted = self._password.encode()
        return kind.lower() == b"basic" and hmac.compare_digest(given, wanted)
