"""Code and words that are wanted seldom are loaded when they are, and let go again.

The schema of the settings, and all that is held against it, would take a tenth of a small board's
heap for ever. What cannot be loaded, for want of memory or of a file, is said by SeldomError: the
settings are then as good as wrong, and the relay stays open.
"""

import sys

from keeper import Settings

_MODULES = (
    "keeper.settings",
    "keeper.plausible",
    "device.help",
    "device.say",
)
FROM_SOURCES = __file__.endswith(".py")
"""To compile the schema anew takes more heap for a moment than letting it go gives back for good:
from sources (`rillkeeper flash --py`) what is loaded stays."""


class SeldomError(Exception):
    """There was no room to load a module, or it is not there; the text is for a person."""


def let_go() -> None:
    """Leave what was loaded to the collector."""
    if FROM_SOURCES:
        return
    for name in _MODULES:
        if sys.modules.pop(name, None):
            package, _, module = name.partition(".")
            if hasattr(sys.modules[package], module):
                delattr(sys.modules[package], module)


def settings_of(values: dict, trial: bool = False):
    """Checked Settings. Raises SettingsError, or SeldomError where they cannot be checked."""
    try:
        return Settings(values, trial)
    except (ImportError, MemoryError, OSError) as error:
        why = _why(error)
    finally:
        let_go()
    raise SeldomError(why)


def problem_of(values: dict, trial: bool = False) -> str:
    """What is wrong with these settings first, "" for nothing; also that nobody can tell."""
    try:
        from keeper.settings import problems

        found = problems(values, trial)
    except (ImportError, MemoryError, OSError) as error:
        return _why(error)
    finally:
        let_go()
    return found[0] if found else ""


def told(board):
    """The lines of the answer to "help", or, with a board, to "say". Raises SeldomError."""
    try:
        if board is None:
            from .help import HELP

            return HELP
        from .say import lines_of

        return lines_of(board)
    except (ImportError, MemoryError, OSError) as error:
        why = _why(error)
    finally:
        let_go()
    raise SeldomError(why)


class _Names:
    """Its attributes' names are the interpreter's own strings, of which there is one each."""


def setting_keys() -> tuple:
    """Every key of the settings, in the order of the schema, as strings that take no room.

    None where the schema cannot be loaded: then the settings cannot either, which is said.
    """
    try:
        from keeper.settings import SCHEMA
    except (ImportError, MemoryError, OSError):
        return ()
    names = _Names()
    for row in SCHEMA:
        setattr(names, row[0], 0)
    kept = {key: key for key in names.__dict__}
    return tuple([kept[row[0]] for row in SCHEMA])


def _why(error) -> str:
    if isinstance(error, MemoryError):
        return "there is not enough memory; restart"
    return "a file is missing; flash again"
