"""Maintenance rules for working photographers: rules, equipment and a log in; what is due and why out.

>>> import kitlore
>>> rules = kitlore.Rules("for cameras\\n  after 20 lens changes in dust or 90 days, inspect sensor")
>>> found = rules.standings(
...     items=[{"id": "C1", "kind": "camera", "received": "2026-01-10"}],
...     log=[{"when": "2026-02-07", "item": "C1", "event": "lens change", "amount": 20, "in": "dust"}],
...     at="2026-02-08",
... )
>>> [(row.item, row.task, row.standing) for row in found.rows]
[('C1', 'inspect sensor', 'overdue')]

`items` and `log` are a path (csv, jsonl, xlsx), a list of dicts, a pandas or polars frame, or anything with
the Arrow C stream interface. Nothing else needs to be installed for paths and lists.
"""

from kitlore._native import VERSION as __version__

# As in `typing`, which takes longer to load than all that is needed here.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from kitlore._ahead import Forecasts
    from kitlore._errors import (
        EntryError,
        FileError,
        InputTypeError,
        InputValueError,
        InternalError,
        KitloreError,
        NoRowError,
        RuleError,
        RuleWarning,
        TableError,
        TripError,
    )
    from kitlore._photos import Photos, UnknownGear, read_photos
    from kitlore._rows import Account, Awaited, Forecast, Part, Place, Problem, Row, RulePlace
    from kitlore._rules import Book, Rules
    from kitlore._standings import STANDINGS, Standings, Why
    from kitlore._trip import Trip

__all__ = [
    "STANDINGS",
    "Account",
    "Awaited",
    "Book",
    "EntryError",
    "FileError",
    "Forecast",
    "Forecasts",
    "InputTypeError",
    "InputValueError",
    "InternalError",
    "KitloreError",
    "NoRowError",
    "Part",
    "Photos",
    "Place",
    "Problem",
    "Row",
    "RuleError",
    "RulePlace",
    "RuleWarning",
    "Rules",
    "Standings",
    "TableError",
    "Trip",
    "TripError",
    "UnknownGear",
    "Why",
    "__version__",
    "read_photos",
]

# Where each name is; it is imported when it is first asked for, so that `import kitlore` takes no time.
_MODULES = {
    "_ahead": ("Forecasts",),
    "_errors": (
        "EntryError",
        "FileError",
        "InputTypeError",
        "InputValueError",
        "InternalError",
        "KitloreError",
        "NoRowError",
        "RuleError",
        "RuleWarning",
        "TableError",
        "TripError",
    ),
    "_photos": ("Photos", "UnknownGear", "read_photos"),
    "_rows": ("Account", "Awaited", "Forecast", "Part", "Place", "Problem", "Row", "RulePlace"),
    "_rules": ("Book", "Rules"),
    "_standings": ("STANDINGS", "Standings", "Why"),
    "_trip": ("Trip",),
}


def __getattr__(name: str) -> object:
    for module, names in _MODULES.items():
        if name in names:
            import importlib

            found: object = getattr(importlib.import_module(f"kitlore.{module}"), name)
            globals()[name] = found
            return found
    raise AttributeError(f"module `kitlore` has no attribute `{name}`")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
