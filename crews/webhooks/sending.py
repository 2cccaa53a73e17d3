"""Sending one event: signed after the Standard Webhooks specification, to no address inside our network.

The name is resolved here, every address it has is checked, and the connection goes to a checked address:
a name that resolves differently a moment later gains nothing. Redirects are not followed, proxies not used.
"""

import base64
import hashlib
import hmac
import http.client
import ipaddress
import secrets
import socket
import ssl
import threading
from collections.abc import Sequence
from urllib.parse import SplitResult, urlsplit

SECRET_START = "whsec_"
_SECONDS = 10
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
    """True if the address lies in the open internet, also if an IPv4 address is wrapped inside of it."""
    if isinstance(address, ipaddress.IPv6Address):
        inner = [address.ipv4_mapped, address.sixtofour, *(address.teredo or ())]
        if address in _NAT64:
            inner.append(ipaddress.IPv4Address(int(address) & 0xFFFFFFFF))
        if not all(one is None or is_public(one) for one in inner):
            return False
        if address.ipv4_mapped:
            return True
    return address.is_global and not address.is_multicast


def checked_addresses(host: str, port: int, *, private_allowed: bool) -> list[str]:
    """The addresses of a name, all of them allowed; NotSent if one is not."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError) as error:
        raise NotSent("The name does not resolve.") from error
    addresses = list(dict.fromkeys(str(entry[4][0]) for entry in found))
    if not private_allowed and not all(is_public(ipaddress.ip_address(a.split("%")[0])) for a in addresses):
        raise NotSent("The name resolves to a private address.")
    return addresses


def _connection(parts: SplitResult, *, private_allowed: bool) -> http.client.HTTPConnection:
    """Connected to a checked address; with https, the certificate is checked against the name."""
    host, secure = parts.hostname or "", parts.scheme == "https"
    port = parts.port or (443 if secure else 80)
    last: OSError | None = None
    for address in checked_addresses(host, port, private_allowed=private_allowed):
        try:
            sock = socket.create_connection((address, port), timeout=_SECONDS)
        except OSError as error:
            last = error
            continue
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
