"""Secrets that open a family's page: made once, shown once, kept only as digests."""

import secrets
from hashlib import sha256

# Letters and digits that cannot be taken for one another on paper (Crockford's base 32).
LETTERS = "0123456789abcdefghjkmnpqrstvwxyz"
ALIKE = str.maketrans({"o": "0", "i": "1", "l": "1"})
LENGTH = 26  # 130 bits: nobody finds one by trying
GROUP = 5
CODE_DIGITS = 8


def new_token() -> str:
    """A secret for a link, in groups that can be read aloud and typed."""
    letters = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
    return "-".join(letters[at : at + GROUP] for at in range(0, LENGTH, GROUP))


def new_code() -> str:
    """A short code of digits; it opens once, within minutes, after few tries."""
    return "".join(secrets.choice("0123456789") for _ in range(CODE_DIGITS))


def digest_of(secret: str) -> str:
    """The digest of a secret however it was typed: with or without dashes, spaces, capitals."""
    plain = "".join(secret.split()).replace("-", "").lower().translate(ALIKE)
    return sha256(plain.encode()).hexdigest()
