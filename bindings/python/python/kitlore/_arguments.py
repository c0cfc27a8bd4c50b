"""Arguments that are checked before they go on."""

from __future__ import annotations

import operator
from typing import TYPE_CHECKING

from kitlore._errors import InputTypeError, InputValueError

if TYPE_CHECKING:
    from kitlore import _native

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


def native_rules(rules: object, call: str) -> _native.Rules:
    """The rules within an argument that should be Rules."""
    from kitlore._rules import Rules

    if isinstance(rules, Rules):
        return rules._native
    if isinstance(rules, (str, bytes)) or hasattr(rules, "__fspath__"):
        instead = "of a text they are `kitlore.Rules(text)`, of a file `kitlore.Rules.load(path)`"
    else:
        instead = "make them with `kitlore.Rules(text)` or `kitlore.Rules.load(path)`"
    message = f"the first argument of `{call}` is the rules, and this is a {type(rules).__name__}"
    raise InputTypeError(message, code="input-type", help=instead)
