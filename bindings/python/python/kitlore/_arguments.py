"""Arguments that are checked before they go on."""

from __future__ import annotations

import operator
from datetime import date, datetime
from typing import TypeAlias

from kitlore._errors import InputTypeError, InputValueError

When: TypeAlias = str | date | datetime

DAYS = 3_660
"""The farthest that is looked ahead, in days."""


def days(days: int) -> int:
    """How many days to look ahead."""
    return whole("days", days, DAYS)


def seed(seed: int) -> int:
    """Where draws begin."""
    return whole("seed", seed, (1 << 64) - 1)


def whole(name: str, number: int, most: int) -> int:
    """A whole number from 0 to `most`, of any type that is one."""
    try:
        number = operator.index(number)
    except TypeError:
        message = f"`{name}` is a {type(number).__name__}; give a whole number, such as `{name}=30`"
        raise InputTypeError(message, code="input-type") from None
    if not 0 <= number <= most:
        raise InputValueError(f"`{name}` is {number}; give a number from 0 to {most:,}", code="input-value")
    return number


def instant(at: When | None) -> str | None:
    """A date or time as text."""
    if at is None or isinstance(at, str):
        return at
    if isinstance(at, date):
        return at.isoformat()
    raise InputTypeError(
        f"`at` is a {type(at).__name__}; give a date, a datetime or a text such as `2026-03-01`",
        code="input-type",
    )
