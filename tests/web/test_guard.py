"""Who is let in: names, origins, tokens, passwords; and what browsers are told.

Answers by RFC 9110.
"""

import asyncio
import base64

import pytest

from castplan.errors import InputError, ResourceError
from castplan.page import guard, server
from castplan.page.guard import TOKEN_HEADER, Guard

# What is refused and why: OWASP Cheat Sheet Series, "Cross-Site Request Forgery Prevention";
# RFC 9110 15.5.20 (421), RFC 7617 (Basic). Names of the headers: OWASP Secure Headers Project.


async def app(scope, receive, send):
    """Answers everything with what it is."""
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"in"})


def ask(method="GET", *, password=None, host="127.0.0.1:8470", **headers):
    """Status, headers and body of a request to a guarded application."""
    told = {"host": host, **{name.replace("_", "-"): value for name, value in headers.items()}}
    scope = {
        "type": "http",
        "method": method,
        "path": "/",
        "headers": [(name.encode(), value.encode()) for name, value in told.items() if value],
    }
    sent = []

    async def send(message):
        sent.append(message)

    async def receive():
        return {"type": "http.request", "body": b"", "more_body": False}

    asyncio.run(Guard(app, token="right", password=password)(scope, receive, send))
    body = b"".join(message.get("body", b"") for message in sent[1:])
    return sent[0]["status"], dict(sent[0]["headers"]), body


OURS = [
    "127.0.0.1",
    "127.0.0.1:8470",
    "localhost",
    "LocalHost:9",
    "[::1]",
    "[::1]:8470",
    "127.8.8.8",
]
OTHERS = [
    "",
    "evil.example",
    "evil.example:8470",
    "localhost.evil.example",
    "127.0.0.1.evil.example:8470",
    "evil.example:127.0.0.1",
    "192.168.1.20:8470",
    "0.0.0.0",
    "[2001:db8::1]:8470",
    "localhost@evil.example",
]


@pytest.mark.parametrize("host", OURS)
def test_names_of_this_computer_are_answered(host):
    assert ask(host=host)[0] == 200


@pytest.mark.parametrize("host", OTHERS)
@pytest.mark.parametrize("method", ["GET", "HEAD", "POST"])
def test_a_name_that_was_turned_to_this_computer_is_not(host, method):
    status, _, body = ask(method, host=host, x_castplan_token="right")
    assert status == 421
    assert body != b"in"


CHANGING = ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"]


@pytest.mark.parametrize("method", CHANGING)
def test_what_changes_something_needs_the_token(method):
    assert ask(method)[0] == 403
    for wrong in ("wrong", "righ", "right ", "Right"):
        assert ask(method, x_castplan_token=wrong)[0] == 403
    assert ask(method, x_castplan_token="right")[0] == 200
    assert TOKEN_HEADER == "x-castplan-token"


@pytest.mark.parametrize(
    "origin",
    [
        "null",
        "http://evil.example",
        "https://127.0.0.1:8470",
        "http://127.0.0.1",
        "http://127.0.0.1:8471",
        "http://localhost:8470",
        "http://127.0.0.1:8470.evil.example",
    ],
)
def test_another_page_is_refused_even_with_the_token(origin):
    status, _, body = ask("POST", origin=origin, x_castplan_token="right")
    assert status == 403
    assert b"another page" in body


def test_our_own_page_is_let_in():
    assert ask("POST", origin="http://127.0.0.1:8470", x_castplan_token="right")[0] == 200


def basic(password, user="shop"):
    return "Basic " + base64.b64encode(f"{user}:{password}".encode()).decode()


@pytest.fixture
def quick(monkeypatch):
    monkeypatch.setattr(guard, "_WRONG_PASSWORD_S", 0.0)


@pytest.mark.usefixtures("quick")
def test_with_a_password_nobody_is_let_in_without():
    wrong = [None, "Basic", "Basic !!", "Bearer geheim-1", basic("geheim-2"), basic(""), "Basic é"]
    for told in wrong:
        status, headers, body = ask(password="geheim-1", authorization=told)
        assert status == 401, told
        assert headers[b"www-authenticate"] == b'Basic realm="castplan"'
        assert body != b"in"
    for user in ("", "shop", "a b"):
        given = basic("geheim-1", user)
        assert ask(password="geheim-1", authorization=given)[0] == 200
    assert ask(password="Öl:und:Lack", authorization=basic("Öl:und:Lack"))[0] == 200


@pytest.mark.usefixtures("quick")
def test_the_password_replaces_neither_token_nor_origin():
    told = {"password": "geheim-1", "authorization": basic("geheim-1"), "host": "192.168.1.20:8470"}
    assert ask(**told)[0] == 200
    assert ask("POST", **told)[0] == 403
    assert ask("POST", **told, x_castplan_token="right")[0] == 200
    refused = ask("POST", **told, x_castplan_token="right", origin="http://evil.example")
    assert refused[0] == 403
    assert ask(**told | {"host": "shop.evil.example"})[0] == 421


def test_wrong_passwords_wait_for_one_another(monkeypatch):
    naps = []

    async def nap(seconds):
        naps.append(guarded._guessing.locked())

    monkeypatch.setattr(guard.asyncio, "sleep", nap)
    guarded = Guard(app, token="right", password="geheim-1")
    asyncio.run(guarded._refusal("GET", {b"host": b"127.0.0.1"}))
    assert naps == []  # a browser that has not asked for it yet need not wait
    told = {b"host": b"127.0.0.1", b"authorization": basic("no").encode()}
    asyncio.run(guarded._refusal("GET", told))
    assert naps == [True]


@pytest.mark.parametrize("told", [{}, {"host": "evil.example"}, {"method": "POST"}])
def test_every_answer_tells_browsers_what_they_may_do(told):
    _, headers, _ = ask(**told)
    policy = headers[b"content-security-policy"].decode()
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "script-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert headers[b"x-content-type-options"] == b"nosniff"
    assert headers[b"referrer-policy"] == b"no-referrer"
    assert headers[b"cross-origin-resource-policy"] == b"same-origin"
    assert headers[b"cache-control"] == b"no-store"
    assert b"access-control-allow-origin" not in headers


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.20", "::", "8.8.8.8"])
def test_serving_others_needs_a_password(host):
    with pytest.raises(InputError, match="which other computers reach"):
        server.check_reach(host, None)
    server.check_reach(host, "geheim-1")


def test_serving_this_computer_needs_none():
    for host in ("127.0.0.1", "localhost", "::1"):
        server.check_reach(host, None)
    with pytest.raises(InputError, match="need an address of this computer"):
        server.check_reach("shop.example", "geheim-1")


def test_a_port_that_is_taken_is_told():
    first = server.open_socket(host="127.0.0.1", port=0)
    try:
        taken = first.getsockname()[1]
        with pytest.raises(ResourceError, match=f"127.0.0.1:{taken}: found .*in use.*--port"):
            server.open_socket(host="127.0.0.1", port=taken)
        other = server.open_socket(host="127.0.0.1", port=0)  # a free one
        assert other.getsockname()[1] != taken
        other.close()
    finally:
        first.close()
