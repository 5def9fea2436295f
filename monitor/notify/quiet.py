"""Libraries that write addresses into the log, kept from it: a webhook's address is a secret."""

import logging

_NOISY = ("httpx", "httpcore", "urllib3", "requests")


def keep_addresses_out_of_the_log() -> None:
    """Let the libraries that carry messages over HTTP say nothing below a warning."""
    for name in _NOISY:
        logging.getLogger(name).setLevel(logging.WARNING)
