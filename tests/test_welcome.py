"""What `make run` shows when it serves: the address for others, and a code that a phone can read."""

import socket

import pytest
import segno

from config.commands import CannotRun
from config.welcome import Door, door, hosts, qr

LINK = "http://192.0.2.20:8000/sign-in/link#once_0123456789abcdefghijklmnopqrstuv"


def test_without_a_word_it_listens_to_this_machine_alone(monkeypatch):
    for name in ("PORT", "LAN", "BIND"):
        monkeypatch.delenv(name, raising=False)

    own = door()

    assert (own.bound, own.beyond) == ("127.0.0.1:8000", False)


def test_with_lan_it_listens_everywhere_and_shows_its_address_in_the_network(monkeypatch):
    monkeypatch.setenv("LAN", "1")
    monkeypatch.setattr("config.welcome._own_address", lambda _: "192.0.2.20")

    own = door()

    assert (own.bind, own.near, own.shown, own.beyond) == ("0.0.0.0", "127.0.0.1", "192.0.2.20", True)
    assert hosts(own) == "localhost,127.0.0.1,[::1],192.0.2.20"


def test_a_host_that_is_named_is_bound_and_shown(monkeypatch):
    monkeypatch.setenv("BIND", "192.0.2.7")
    monkeypatch.setenv("PORT", "8001")

    own = door()

    assert (own.bound, own.near, own.shown, own.beyond) == ("192.0.2.7:8001", "192.0.2.7", "192.0.2.7", True)


def test_an_address_of_ipv6_stands_in_brackets_where_it_must():
    own = Door(bind="2001:db8::5", port=8000)

    assert (own.bound, own.root(own.shown)) == ("[2001:db8::5]:8000", "http://[2001:db8::5]:8000")
    assert "[2001:db8::5]" in hosts(own)


def test_a_machine_without_a_network_is_told_to_name_the_address(monkeypatch):
    def no_way(*_: object) -> None:
        raise OSError("Network is unreachable")

    monkeypatch.setattr(socket.socket, "connect", no_way)

    with pytest.raises(CannotRun, match="make run HOST="):
        _ = Door(bind="0.0.0.0", port=8000).shown


def modules_of(drawn: str) -> list[list[int]]:
    """The code as a phone sees it: what is printed is light, what is left out is dark."""
    rows: list[list[int]] = []
    for line in drawn.splitlines():
        rows.append([0 if sign in "█▀" else 1 for sign in line])
        rows.append([0 if sign in "█▄" else 1 for sign in line])
    return rows


def test_the_code_holds_the_link():
    wanted = [list(row) for row in segno.make(LINK, error="l", micro=False).matrix_iter(border=2)]

    drawn = modules_of(qr(LINK, coloured=False))

    assert drawn[: len(wanted)] == wanted
    assert len(wanted) > 30


def test_in_a_terminal_it_is_dark_on_light_whatever_the_terminals_colours():
    lines = qr(LINK, coloured=True).splitlines()

    assert all(line.startswith("\x1b[40;97m") and line.endswith("\x1b[0m") for line in lines)
