"""Whether a host is this machine itself."""

from ipaddress import ip_address


def is_loopback(host: str) -> bool:
    """Whether a host, by its address or its name, is this machine itself.

    >>> is_loopback("127.0.0.1"), is_loopback("::1"), is_loopback("localhost"), is_loopback("10.0.0.5")
    (True, True, True, False)
    """
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
