"""What a command could not do, in words for the person who gave it."""

EXIT_TROUBLE = 2
EXIT_REFUSED = 1


class TroubleError(Exception):
    """Printed on standard error as it stands; ends the command with its exit status."""

    exit_status = EXIT_TROUBLE


class RefusedError(TroubleError):
    """What was asked for was understood, and is not to be done as things stand."""

    exit_status = EXIT_REFUSED
