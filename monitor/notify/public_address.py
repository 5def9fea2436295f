"""Where a name may be connected to: only public addresses, unless private ones are allowed.

A receiver's address is written by people, and its name is answered by whoever owns it. Without this a webhook could be
led to what listens on the agent's own machine or inside the yard's network. Every address of the name is checked, and
the connection is made to an address that was checked: the name is not looked up a second time.
"""

import socket
from collections.abc import Callable
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address

Address = IPv4Address | IPv6Address
Resolve = Callable[[str, int], list[str]]

# RFC 6052: an IPv4 address in its last 32 bits, that a gateway of the network translates to.
_TRANSLATED = IPv6Network("64:ff9b::/96")


class NotPublicError(Exception):
    """An address that must not be connected to."""


def resolve(host: str, port: int) -> list[str]:
    """Look a name up; give its addresses in the order in which they are to be tried.

    Raises:
        OSError: where it has none.
    """
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    return list(dict.fromkeys(str(address[0]) for *_, address in found))


def checked(addresses: list[str], *, allow_private: bool) -> list[str]:
    """Give the addresses of a name back where it may be connected to.

    Raises:
        NotPublicError: where one of them is not public.
    """
    for text in addresses:
        why = "" if allow_private else why_not_public(ip_address(text))
        if why:
            raise NotPublicError(f"it leads to {text}, which is {why}; allow_private = true in the settings allows it")
    return addresses


def why_not_public(address: Address) -> str:
    """Say why an address is not one of the public internet, empty where it is.

    >>> why_not_public(ip_address("::ffff:10.0.0.1"))
    'private'
    """
    for inner in _carried(address):
        why = why_not_public(inner)
        if why:
            return why
    if isinstance(address, IPv6Address) and (address.ipv4_mapped is not None or address in _TRANSLATED):
        return ""  # the address it carries has been judged, and is what is connected to
    if isinstance(address, IPv6Address) and address.is_site_local:
        return "private"
    kinds = {
        "unspecified": address.is_unspecified,
        "loopback": address.is_loopback,
        "link-local": address.is_link_local,
        "multicast": address.is_multicast,
        "private": address.is_private,
        "reserved": address.is_reserved or not address.is_global,
    }
    return next((word for word, holds in kinds.items() if holds), "")


def _carried(address: Address) -> list[IPv4Address]:
    """Give the IPv4 addresses that an IPv6 address carries in it: mapped, translated or tunnelled."""
    if isinstance(address, IPv4Address):
        return []
    carried = [address.ipv4_mapped, address.sixtofour, *(address.teredo or ())]
    if address in _TRANSLATED:
        carried.append(IPv4Address(int(address) & 0xFFFF_FFFF))
    return [inner for inner in carried if inner is not None]
