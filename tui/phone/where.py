"""Where the phone page listens: what the flag says, made into an address."""

from __future__ import annotations

import ipaddress
import socket

from bridge.values.errors import UsageError

LOOPBACK = "127.0.0.1"
PORT = 8642
_ELSEWHERE = ("198.51.100.1", 9)
"""An address kept for documents (RFC 5737): asked for a route, never spoken to."""
_EVERYBODY = ipaddress.ip_address("255.255.255.255")


def host_of(where: str) -> str:
    """Return the address that ``--phone WHERE`` asks for.

    'loopback' is this computer alone, 'lan' its address on the local network, anything
    else must be an address of a private network.

    Raises:
        UsageError: it is no such address.
    """
    word = where.strip().lower()
    if word in ("", "loopback"):
        return LOOPBACK
    return lan_address() if word == "lan" else named(where.strip())


def named(where: str) -> str:
    """Return a numeric address of a private network.

    Raises:
        UsageError: it is none.
    """
    try:
        address = ipaddress.ip_address(where)
    except ValueError:
        raise UsageError(
            f"--phone {where!r} is no address: say 'loopback', 'lan', or a numeric "
            "address of this computer"
        ) from None
    if isinstance(address, ipaddress.IPv6Address) and address.ipv4_mapped:
        address = address.ipv4_mapped  # the same address in another spelling
    if address.is_unspecified or address.is_multicast or address == _EVERYBODY:
        raise UsageError(
            f"--phone {where} is not one address: say 'lan', or name one address"
        )
    if not (address.is_private or address.is_link_local or address.is_loopback):
        raise UsageError(
            f"--phone {where} can be reached from everywhere: the page is for a local "
            "network only"
        )
    return str(address)


def lan_address() -> str:
    """Return this computer's address on its local network. Nothing is sent.

    Raises:
        UsageError: it has none, or only one that everybody can reach.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_ELSEWHERE)
            host = str(probe.getsockname()[0])
        except OSError:
            host = ""
    if not host or ipaddress.ip_address(host).is_loopback:
        raise UsageError(
            "--phone lan finds no network here: join the phone's hotspot or a local "
            "network, or name this computer's address"
        )
    return named(host)
