"""Where a request comes from: the client's address, told by the proxies that are ours and by no one else."""

from collections.abc import Iterable, Sequence
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

Address = IPv4Address | IPv6Address
Network = IPv4Network | IPv6Network

# A proxy that comes through a Unix socket has no address.
UNIX = "unix"
# Whoever has one address of a network as small as this has all of it.
_OWN_V6_PREFIX = 64


def proxies_from(words: Iterable[str]) -> tuple[Network | str, ...]:
    """The proxies that are trusted: addresses, networks, or `unix`. ValueError for anything else."""
    return tuple(word if word == UNIX else ip_network(word) for word in words)


def client_address(*, peer: str, forwarded: str, proxies: Sequence[Network | str]) -> str:
    """The address that asks: the last one in X-Forwarded-For that is not a proxy of ours.

    `peer` is who is connected, empty through a Unix socket. What stands further left in `forwarded`, anybody
    may have written. Of IPv6 the network of 64 bits is given, since one household or host has all of it.
    """
    asking, told = peer, [part.strip() for part in forwarded.split(",") if part.strip()]
    while told and _trusted(asking, proxies):
        before = _read(told.pop())
        if before is None:
            break
        asking = str(before)
    address = _read(asking)
    if isinstance(address, IPv6Address):
        return str(ip_network((int(address), _OWN_V6_PREFIX), strict=False))
    return asking if address is None else str(address)


def _trusted(asking: str, proxies: Sequence[Network | str]) -> bool:
    address = _read(asking)
    if address is None:
        return UNIX in proxies and not asking
    return any(not isinstance(proxy, str) and address in proxy for proxy in proxies)


def _read(text: str) -> Address | None:
    """The address, an IPv4 one also if it is written as IPv6; None if it is none."""
    try:
        address = ip_address(text)
    except ValueError:
        return None
    return getattr(address, "ipv4_mapped", None) or address
