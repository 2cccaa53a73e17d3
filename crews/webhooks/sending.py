"""Sending one event: signed after the Standard Webhooks specification, to no address inside our network.

The name is resolved here, every address it has is checked, and the connection goes to a checked address:
a name that resolves differently a moment later gains nothing. Redirects are not followed, proxies not used.
"""

import base64
import contextlib
import hashlib
import hmac
import http.client
import ipaddress
import secrets
import socket
import ssl
import threading
import time
from collections.abc import Sequence
from typing import Any
from urllib.parse import SplitResult, urlsplit

SECRET_START = "whsec_"
_SECONDS = 10
# The special-purpose address registries of IANA (RFC 6890 and what came after): what is not, or not for all,
# in the open internet, and forms that carry another address inside. Python's own list (`is_global`) is asked
# too, but it is as old as the Python that runs.
_SPECIAL = [
    ipaddress.ip_network(one)
    for one in (
        "0.0.0.0/8", "10.0.0.0/8", "100.64.0.0/10", "127.0.0.0/8", "169.254.0.0/16", "172.16.0.0/12",
        "192.0.0.0/24", "192.0.2.0/24", "192.31.196.0/24", "192.52.193.0/24", "192.88.99.0/24",
        "192.168.0.0/16", "192.175.48.0/24", "198.18.0.0/15", "198.51.100.0/24", "203.0.113.0/24",
        "224.0.0.0/4", "240.0.0.0/4",
        "2001::/23", "2001:db8::/32", "2002::/16", "2620:4f:8000::/48", "3fff::/20",
    )
]  # fmt: skip
# All addresses of IPv6 that are given to networks begin with these three bits.
_GIVEN_OUT = ipaddress.ip_network("2000::/3")
# A network without IPv4 reaches it through these.
_NAT64 = ipaddress.ip_network("64:ff9b::/96")


class NotSent(ValueError):
    """The event did not reach the receiver; the message says why."""


def new_signing_secret() -> str:
    return SECRET_START + base64.b64encode(secrets.token_bytes(32)).decode()


def signature(*, secret: str, id: str, timestamp: int, body: bytes) -> str:
    """`v1,` and the base64 HMAC-SHA256 of `id.timestamp.body`, after the Standard Webhooks specification."""
    key = base64.b64decode(secret.removeprefix(SECRET_START))
    signed = f"{id}.{timestamp}.".encode() + body
    return "v1," + base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()


def url_fault(url: str, *, private_allowed: bool) -> str:
    """What is wrong with a webhook's address, as far as can be said without asking for its name; else ""."""
    try:
        parts = urlsplit(url)
        host, _ = parts.hostname, parts.port
    except ValueError:
        return "Not an address."
    if not url.isascii() or any(sign <= " " for sign in url):
        return "An address has no spaces and only ASCII signs."
    if parts.scheme != "https" and not (private_allowed and parts.scheme == "http"):
        return "An address begins with https://."
    if not host or parts.username is not None or parts.fragment:
        return "An address has a host, and neither a user nor a #fragment."
    try:
        literal = ipaddress.ip_address(host)
    except ValueError:
        return ""
    return "" if private_allowed or is_public(literal) else "This server sends to no private address."


def is_public(address: ipaddress.IPv4Address | ipaddress.IPv6Address) -> bool:
    """True if the address lies in the open internet; an IPv4 address written as IPv6 is judged as itself."""
    if isinstance(address, ipaddress.IPv6Address):
        if address.ipv4_mapped:
            return is_public(address.ipv4_mapped)
        if address in _NAT64:
            return is_public(ipaddress.IPv4Address(int(address) & 0xFFFFFFFF))
        if address not in _GIVEN_OUT:
            return False
    return address.is_global and not any(address in special for special in _SPECIAL)


def _resolved(host: str, port: int) -> list[Any]:
    """What the name resolves to; for a slow server of names a thread waits, which may go on alone."""
    answer: list[Any] = []

    def ask() -> None:
        with contextlib.suppress(OSError, UnicodeError):
            answer.extend(socket.getaddrinfo(host, port, type=socket.SOCK_STREAM))

    asking = threading.Thread(target=ask, daemon=True)
    asking.start()
    asking.join(_SECONDS)
    if not answer:
        raise NotSent("The name does not resolve.")
    return list(answer)


def checked_addresses(host: str, port: int, *, private_allowed: bool) -> list[str]:
    """The addresses of a name, all of them allowed; NotSent if one is not."""
    found = _resolved(host, port)
    addresses = list(dict.fromkeys(str(entry[4][0]) for entry in found))
    if not private_allowed and not all(is_public(ipaddress.ip_address(a.split("%")[0])) for a in addresses):
        raise NotSent("The name resolves to a private address.")
    return addresses


def _connection(parts: SplitResult, *, private_allowed: bool) -> http.client.HTTPConnection:
    """Connected to a checked address; with https, the certificate is checked against the name.

    All its addresses together get as long as one.
    """
    host, secure = parts.hostname or "", parts.scheme == "https"
    port = parts.port or (443 if secure else 80)
    last: OSError | None = None
    addresses = checked_addresses(host, port, private_allowed=private_allowed)
    until = time.monotonic() + _SECONDS
    for address in addresses:
        left = until - time.monotonic()
        if left <= 0:
            break
        try:
            sock = socket.create_connection((address, port), timeout=left)
        except OSError as error:
            last = error
            continue
        sock.settimeout(_SECONDS)
        try:
            if secure:
                sock = ssl.create_default_context().wrap_socket(sock, server_hostname=host)
        except BaseException:
            sock.close()
            raise
        talking = http.client.HTTPConnection(host, parts.port)
        talking.sock = sock
        return talking
    raise NotSent(f"No connection: {_in_words(last)}")


def send(
    *, url: str, id: str, body: bytes, timestamp: int, keys: Sequence[str], private_allowed: bool
) -> int:
    """POST the event and return the receiver's status; NotSent if there is no answer within seconds."""
    if fault := url_fault(url, private_allowed=private_allowed):
        raise NotSent(fault)
    parts = urlsplit(url)
    signatures = [signature(secret=key, id=id, timestamp=timestamp, body=body) for key in keys]
    headers = {
        "content-type": "application/json",
        "user-agent": "roundlay",
        "webhook-id": id,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": " ".join(signatures),
    }
    address = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    try:
        talking = _connection(parts, private_allowed=private_allowed)
        sock = talking.sock
        # A receiver that sends one byte now and then must not hold the worker.
        ender = threading.Timer(_SECONDS, sock.shutdown, [socket.SHUT_RDWR])
        ender.start()
        try:
            talking.request("POST", address, body=body, headers=headers)
            return talking.getresponse().status
        finally:
            ender.cancel()
            talking.close()
    except (OSError, http.client.HTTPException) as error:
        raise NotSent(f"No answer: {_in_words(error)}") from error


def _in_words(error: Exception | None) -> str:
    match error:
        case TimeoutError():
            return f"nothing within {_SECONDS} seconds."
        case ssl.SSLCertVerificationError():
            return "its certificate is not valid."
        case ssl.SSLError():
            return "TLS failed."
        case ConnectionRefusedError():
            return "refused."
        case _:
            return "the connection broke off."
