"""Lot codes: five random characters of Crockford's base 32 and one check character.

The check character is ISO/IEC 7064 MOD 37,36, whose alphabet is 0-9 A-Z. It catches every
single wrong character and nearly every swap of neighbours. A code is drawn again until its
check character is none of I L O U, so that every code can be read from any hand: `o` is read
as `0`, `i` and `l` as `1`; case, hyphens and spaces don't count.
"""

import secrets

CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
MOD_37_36 = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
LENGTH = 6
FROM_ANY_HAND = str.maketrans({"O": "0", "I": "1", "L": "1", "-": None, " ": None, "\t": None})


class NotACode(ValueError):
    """No lot code; `fault` is 'length', 'character' or 'check', `text` what was read."""

    def __init__(self, fault: str, text: str) -> None:
        super().__init__(f"{text!r} is no lot code: {fault}")
        self.fault = fault
        self.text = text


def check_character(payload: str) -> str:
    """The ISO/IEC 7064 MOD 37,36 check character of upper-case letters and digits."""
    check = 36
    for character in payload:
        check = (check + MOD_37_36.index(character)) % 36 or 36
        check = check * 2 % 37
    return MOD_37_36[(37 - check) % 36]


def new_code() -> str:
    """A fresh random code; whether the book holds it already is for the caller to ask."""
    while True:
        payload = "".join(secrets.choice(CROCKFORD) for _ in range(LENGTH - 1))
        check = check_character(payload)
        if check in CROCKFORD:
            return payload + check


def read(text: str) -> str:
    """The six characters of a code as typed or scanned, or raise NotACode.

    A scanner that types the whole address of a tag is understood as well.
    """
    code = text.strip().rstrip("/").rsplit("/", 1)[-1].upper().translate(FROM_ANY_HAND)
    if len(code) != LENGTH:
        raise NotACode("length", code)
    if any(character not in CROCKFORD for character in code):
        raise NotACode("character", code)
    if check_character(code[:-1]) != code[-1]:
        raise NotACode("check", code)
    return code


def read_or_none(text: str) -> str | None:
    """The six characters of a code as typed or scanned; None where it is no lot code."""
    try:
        return read(text)
    except NotACode:
        return None


def show(code: str) -> str:
    """A code in two groups, as people read it out: `7K3-QFY`. One that somebody has thought up
    stays as it is, unless it is as long and has no signs of its own."""
    return f"{code[:3]}-{code[3:]}" if len(code) == LENGTH and code.isalnum() else code
