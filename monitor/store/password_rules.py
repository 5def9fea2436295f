"""What a password must be like: long, and not what others try first."""

LEAST = 15
"""NIST SP 800-63B-4, section 3.1.1.2: a password that is the only factor has at least 15 characters."""
MOST = 200
"""The same section asks that at least 64 be taken; beyond this it is no password but an attack on the hash."""
FEWEST_DIFFERENT = 5
"""*Invented*: fewer different characters are a key held down."""


def password_trouble(password: str, login: str, name: str) -> str:
    """Say in words why a password will not do; empty where it will.

    No mix of kinds of characters is asked, as the same source advises.

    >>> password_trouble("four wet dogs ashore", "anna", "Anna Invented")
    ''
    >>> password_trouble("short", "anna", "Anna Invented")
    'A password has at least 15 characters: three or four words that do not belong together will do.'
    """
    if len(password) < LEAST:
        return f"A password has at least {LEAST} characters: three or four words that do not belong together will do."
    if len(password) > MOST:
        return f"A password has at most {MOST} characters."
    if len(set(password.casefold())) < FEWEST_DIFFERENT:
        return "This repeats a few characters and is tried first by whoever guesses."
    plain = password.casefold()
    for own in (login, name):
        if own and not plain.replace(own.casefold(), "").strip(" 0123456789.-_!"):
            return "This is made of your own name, and is tried first by whoever guesses."
    return ""
