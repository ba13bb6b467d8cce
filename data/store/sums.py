"""A checksum at the end of a JSON text, so that a number the disk has altered is noticed.

Texts of earlier editions have none and are taken as they are.
"""

from __future__ import annotations

import re
from hashlib import sha256

_SUM = re.compile(r', "sum": "([0-9a-f]{16})"\}\s*$')


def with_sum(text: str) -> str:
    """Return the text of a JSON object, which is not empty, with a checksum as its last field."""
    body = text.rstrip()[:-1].rstrip()
    return f'{body}, "sum": "{_checksum(body)}"}}'


def without_sum(text: str) -> tuple[str, bool]:
    """Return a text without its checksum, and whether it is as it was written."""
    found = _SUM.search(text)
    if not found:
        return text, True
    body = text[: found.start()]
    return f"{body}}}", found[1] == _checksum(body)


def _checksum(body: str) -> str:
    return sha256(f"{body}}}".encode()).hexdigest()[:16]
