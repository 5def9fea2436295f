"""Libraries that write addresses into the log, kept from it: a webhook's or a service's address is a secret."""

import logging

_NOISY = ("httpx", "httpcore", "urllib3", "requests")


def keep_addresses_out_of_the_log() -> None:
    """Let the libraries that carry messages over HTTP say nothing below a warning, and the services' library nothing.

    What the services' library says of a failure is caught where it is called (`monitor.notify.service`).
    """
    for name in _NOISY:
        logging.getLogger(name).setLevel(logging.WARNING)
    services = logging.getLogger("apprise")
    services.propagate = False
    if not any(isinstance(handler, logging.NullHandler) for handler in services.handlers):
        services.addHandler(logging.NullHandler())  # else Python prints to standard error what nobody handles
