"""A checksum with a JSON text, so that a number the disk has altered is noticed.

It is a text's last field, or stands before a line. Those of earlier editions have none and are
taken as they are.
"""

from __future__ import annotations

import re
from hashlib import sha256

LAST = re.compile(r', "sum": "([0-9a-f]{16})"\}\s*$')
BEFORE = re.compile(r"([0-9a-f]{16}) (\{.*\})\s*$")


def with_sum(text: str) -> str:
    """Return the text of a JSON object, which is not empty, with a checksum as its last field."""
    body = text.rstrip()[:-1].rstrip()
    return f'{body}, "sum": "{_checksum(body + "}")}"}}'


def without_sum(text: str) -> tuple[str, bool]:
    """Return a text without its checksum, and whether it is as it was written."""
    found = LAST.search(text)
    if not found:
        return text, True
    body = text[: found.start()]
    return f"{body}}}", found[1] == _checksum(f"{body}}}")


def summed_line(text: str) -> str:
    """Return a line of a JSON object with its checksum before it."""
    return f"{_checksum(text)} {text}"


def line_without_sum(line: str) -> tuple[str, bool]:
    """Return a line without the checksum before it, and whether it is as it was written."""
    found = BEFORE.match(line)
    return (found[2], found[1] == _checksum(found[2])) if found else (line, True)


def _checksum(text: str) -> str:
    return sha256(text.encode()).hexdigest()[:16]
