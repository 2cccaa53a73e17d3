"""What `make run` prints when it serves: the addresses, and a link that signs a browser in, for a phone as a
QR code. `make sign-in` makes another one."""

import io
import os
import socket
import sys
from collections.abc import Mapping
from dataclasses import dataclass

import segno

from config.commands import CannotRun, manage, say
from config.database import database_at_hand
from config.demo import demo_key, key_file
from config.home import PrivateServerFailed
from config.switches import SwitchRefused, is_on, text, whole_number

LOOPBACK = "127.0.0.1"
_EVERY = ("0.0.0.0", "::")
# Of a network that is for documentation: nothing is sent, the machine only says by which address it would be.
_ELSEWHERE = {"0.0.0.0": (socket.AF_INET, "192.0.2.1"), "::": (socket.AF_INET6, "2001:db8::1")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """Where the service listens: the address that it binds, and its port."""

    bind: str
    port: int

    @property
    def beyond(self) -> bool:
        """Whether other machines reach it."""
        return self.bind not in (LOOPBACK, "::1", "localhost")

    @property
    def bound(self) -> str:
        """The address and port as config.web takes them."""
        return f"[{self.bind}]:{self.port}" if ":" in self.bind else f"{self.bind}:{self.port}"

    @property
    def near(self) -> str:
        """An address by which this machine itself reaches it."""
        return {"0.0.0.0": LOOPBACK, "::": "::1"}.get(self.bind, self.bind)

    @property
    def shown(self) -> str:
        """The address for people: the machine's own in its network, where all are bound. Raises CannotRun."""
        return _own_address(self.bind) if self.bind in _EVERY else self.bind

    def root(self, address: str) -> str:
        return f"http://[{address}]:{self.port}" if ":" in address else f"http://{address}:{self.port}"


def door() -> Door:
    """As PORT, LAN and HOST say (HOST comes as BIND: shells of old set HOST by themselves)."""
    bind = text("BIND") or ("0.0.0.0" if is_on("LAN") else LOOPBACK)
    return Door(bind=bind, port=whole_number("PORT", 8000, least=1, most=65_535))


def _own_address(bind: str) -> str:
    family, elsewhere = _ELSEWHERE[bind]
    with socket.socket(family, socket.SOCK_DGRAM) as trial:
        try:
            trial.connect((elsewhere, 9))
        except OSError as fault:
            raise CannotRun(
                "This machine has no address in a network. Give it by hand: make run HOST=192.168.1.20"
            ) from fault
        return str(trial.getsockname()[0])


def hosts(door: Door) -> str:
    """The host names that the service answers to, if the operator named none."""
    own = [f"[{address}]" if ":" in address else address for address in (door.near, door.shown)]
    return ",".join(dict.fromkeys(["localhost", LOOPBACK, "[::1]", *own]))


def welcome(door: Door, url: str, env: Mapping[str, str], *, staying: bool) -> None:
    """Print the addresses; with the demo's key also the key and, if the service stays, a sign-in link."""
    root = door.root(door.shown)
    say("")
    say(f"Pages:             {root}/")
    say(f"API:               {root}/api/v1/")
    say(f"Interactive docs:  {root}/api/docs")
    say(f"OpenAPI schema:    {root}/api/openapi.yaml")
    key = demo_key(url, door.root(door.near))
    if key:
        say(f"Access key (demo): {key}")
        if staying:
            show_link(door, url, env)
    if door.beyond:
        say(
            "\nEvery machine in this network reaches the service now, and what is sent, keys included, is not"
            " encrypted.\nUse it only in a network that you trust."
        )


def show_link(door: Door, url: str, env: Mapping[str, str]) -> None:
    """Make a link with the demo's key and print it; for a phone also as a QR code."""
    link = door.root(door.shown) + manage("sign_in_link", str(key_file(url)), env=env, quiet=True).strip()
    say(f"\nSign a browser in (once, within ten minutes; `make sign-in` makes another link):\n{link}")
    if door.beyond:
        say(qr(link))


def qr(link: str, *, coloured: bool | None = None) -> str:
    """The link as a QR code of half blocks with its quiet zone, dark on light whatever the terminal is."""
    drawn = io.StringIO()
    segno.make(link, error="l", micro=False).terminal(out=drawn, compact=True, border=2)
    lines = drawn.getvalue().splitlines()
    if sys.stdout.isatty() if coloured is None else coloured:
        lines = [f"\033[40;97m{line}\033[0m" for line in lines]
    return "\n".join(lines)


def main() -> int:
    """`make sign-in`: another link for the service that runs (with the same PORT, LAN and HOST)."""
    try:
        own = door()
        with database_at_hand(say, command="make sign-in") as url:
            if not demo_key(url, own.root(own.near)):
                raise CannotRun(
                    f"No service with a demo of this clone answers at {own.root(own.near)}."
                    " Start it with make run, or give the PORT, LAN or HOST that it has."
                )
            show_link(own, url, os.environ | {"DATABASE_URL": url})
        return 0
    except (CannotRun, PrivateServerFailed, SwitchRefused) as reason:
        say(str(reason))
        return 1


if __name__ == "__main__":
    sys.exit(main())
