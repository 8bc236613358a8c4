from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from missionsim.page.guard import Guard

TOKEN, PORT = "secret-word", 8123
HOST = f"http://127.0.0.1:{PORT}"


async def _inner(scope, receive, send):
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"inside"})


@pytest.fixture
def stranger():
    return TestClient(Guard(_inner, TOKEN, PORT), base_url=HOST, follow_redirects=False)


@pytest.fixture
def friend(stranger):
    stranger.get(f"/?key={TOKEN}")
    return stranger


def test_without_token_nobody_gets_in(stranger):
    assert stranger.get("/").status_code == 403
    assert stranger.get("/?key=secret-wore").status_code == 403
    assert stranger.get("/?key=s%C3%A9cret").status_code == 403


def test_token_becomes_a_cookie_and_leaves_the_address(stranger):
    answer = stranger.get(f"/?key={TOKEN}")
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert {"HttpOnly", "SameSite=Strict"} <= set(answer.headers["set-cookie"].split("; "))
    assert stranger.get("/").text == "inside"


def test_cookie_of_another_port_opens_nothing(stranger):
    stranger.cookies.set(f"missionsim-{PORT + 1}", TOKEN)
    assert stranger.get("/").status_code == 403


@pytest.mark.parametrize("host", ["evil.example", f"evil.example:{PORT}", f"127.0.0.1:{PORT + 1}", ""])
def test_other_host_is_refused(friend, host):
    assert friend.get("/", headers={"Host": host}).status_code == 421


@pytest.mark.parametrize("headers", [{"Origin": "http://evil.example"}, {"Origin": f"http://127.0.0.1:{PORT + 1}"},
                                     {"Origin": "null"}, {"Sec-Fetch-Site": "cross-site"},
                                     {"Sec-Fetch-Site": "same-site", "Origin": HOST}])
def test_other_origin_is_refused(friend, headers):
    assert friend.post("/", headers=headers).status_code == 403
    assert friend.get("/", headers=headers).status_code == 403


def test_a_change_needs_an_origin(friend):
    assert friend.post("/").status_code == 403
    assert friend.post("/", headers={"Origin": HOST}).status_code == 200


def test_every_answer_carries_the_policy(friend):
    for answer in (friend.get("/"), friend.get("/", headers={"Host": "evil.example"})):
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["cache-control"] == "no-store"


def test_sockets_are_closed():
    import asyncio
    sent = []

    async def send(message):
        sent.append(message)

    asyncio.run(Guard(_inner, TOKEN, PORT)({"type": "websocket", "headers": []}, None, send))
    assert [m["type"] for m in sent] == ["websocket.close"]
