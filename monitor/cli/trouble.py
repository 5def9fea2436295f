"""What a command could not do, in words for the person who gave it."""


class TroubleError(Exception):
    """Printed on standard error as it stands; the exit status is 2."""
