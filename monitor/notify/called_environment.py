"""What a called program is given of our environment.

Our settings' secrets stand there (``COLDBERTH_...``), and a service manager's own ways in: none of that is for a
plug-in, which is given only what it needs to run and to find the network.
"""

from collections.abc import Mapping

_NEEDED = frozenset({"PATH", "HOME", "USER", "LANG", "LANGUAGE", "TZ", "TMPDIR", "LD_LIBRARY_PATH", "VIRTUAL_ENV"})
_NETWORK = frozenset({"HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY", "NO_PROXY", "SSL_CERT_FILE", "SSL_CERT_DIR"})
_CERTIFICATES = frozenset({"REQUESTS_CA_BUNDLE", "CURL_CA_BUNDLE"})
_GIVEN = _NEEDED | _NETWORK | _CERTIFICATES
_PREFIXES = ("LC_", "PYTHON", "XDG_")


def called_environment(ours: Mapping[str, str]) -> dict[str, str]:
    """Give what of our environment a called program needs.

    >>> called_environment({"PATH": "/bin", "https_proxy": "http://gate:8080", "COLDBERTH_MAIL__PASSWORD": "x"})
    {'PATH': '/bin', 'https_proxy': 'http://gate:8080'}
    """
    # Proxies are named in either case.
    return {k: v for k, v in ours.items() if k.upper() in _GIVEN or k.startswith(_PREFIXES)}
