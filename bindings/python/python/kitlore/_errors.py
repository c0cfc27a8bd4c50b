"""The exceptions: one base, each also what Python users already catch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


class KitloreError(Exception):
    """What everything that kitlore raises has in common.

    `str()` is for people. `code` is a stable word; `message` says what is wrong; `line` and `column`, where
    known, count from 1, columns in characters; `help` says what to write instead. `errors()` gives every
    mistake as a dict. Exceptions can be pickled and so cross to other processes.
    """

    def __init__(
        self,
        message: str,
        *,
        code: str = "error",
        line: int | None = None,
        column: int | None = None,
        help: str | None = None,
        errors: Sequence[dict[str, Any]] | None = None,
        text: str | None = None,
    ) -> None:
        super().__init__(message)
        self.message = message
        self.code = code
        self.line = line
        self.column = column
        self.help = help
        self._errors = None if errors is None else [dict(error) for error in errors]
        self._text = text

    def errors(self) -> list[dict[str, Any]]:
        """Every mistake as a dict with at least `code`, `message`, `line`, `column` and `help`."""
        if self._errors is not None:
            return [dict(error) for error in self._errors]
        return [
            {
                "code": self.code,
                "message": self.message,
                "line": self.line,
                "column": self.column,
                "help": self.help,
            }
        ]

    def __str__(self) -> str:
        if self._text is not None:
            return self._text
        return self.message if self.help is None else f"{self.message} ({self.help})"

    def __reduce__(self) -> tuple[Any, ...]:
        return _restored, (type(self), self.args, self.__dict__)


def _restored(cls: type[KitloreError], args: tuple[Any, ...], state: dict[str, Any]) -> KitloreError:
    error = cls.__new__(cls, *args)
    Exception.__init__(error, *args)
    error.__dict__.update(state)
    return error


class RuleError(KitloreError, ValueError):
    """A rule text with mistakes. `str()` shows each with its text underlined, as the command line does.

    The attributes are those of the first mistake; `errors()` has them all, each also with `file`, `text`,
    `end_line`, `end_column` and the offsets `start` and `end`, in characters of the file. `fix` is the only correction that
    leaves fewer mistakes, or None: edits in order of place, each with `file`, `start`, `end` and the `text` that stands
    there then.

    >>> import kitlore
    >>> try:
    ...     kitlore.Rules("for cameras\\n  every other week, wipe body")
    ... except kitlore.RuleError as error:
    ...     wrong = error
    >>> (wrong.code, wrong.line, len(wrong.errors()))
    ('number-in-words', 2, 1)
    >>> wrong.errors()[0]["fix"]
    [{'file': 'rules', 'start': 20, 'end': 30, 'text': '2 weeks'}]
    """

    def __init__(self, text: str, errors: Sequence[dict[str, Any]]) -> None:
        first: dict[str, Any] = errors[0] if errors else {"message": text, "code": "error"}
        super().__init__(
            first["message"],
            code=first["code"],
            line=first.get("line"),
            column=first.get("column"),
            help=first.get("help"),
            errors=errors,
            text=text,
        )


class TableError(KitloreError, ValueError):
    """A table that cannot be read as a whole: a column is missing, doubled or of a wrong type."""


class EntryError(KitloreError, ValueError):
    """An item, an entry or a time that cannot be used."""


class TripError(KitloreError, LookupError):
    """No such trip, one that is over, or one that nothing goes on."""


class FileError(KitloreError, OSError):
    """A file that cannot be read, or a temporary one that cannot be written."""


class NoRowError(KitloreError, KeyError):
    """`why` was asked about an item or a task that has no row."""

    def __str__(self) -> str:
        # A KeyError would show its message in quotes.
        return KitloreError.__str__(self)


class InputTypeError(KitloreError, TypeError):
    """An object of a type that is not taken."""


class InputValueError(KitloreError, ValueError):
    """An argument of the right type that is out of its range, or none of what can be asked for."""


class InternalError(KitloreError, RuntimeError):
    """A fault of kitlore itself."""


class RuleWarning(UserWarning):
    """Something in a rule text that is allowed and probably not meant: a rule in doubt may never fall due.

    Given once for a text with doubts, when it is read; `Rules.doubts` has them all.
    """
