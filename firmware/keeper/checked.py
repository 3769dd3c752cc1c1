"""The settings that a board works with, once settings.py has found nothing against them.

That module is large, and is loaded only while settings are checked.
"""

SETS = 3
OFF, MINUTES, DEPTH, VOLUME = range(4)
"""How much a set gives is said in one of these."""
CURVE = ("empty_mv", "rest_25_mv", "rest_50_mv", "rest_75_mv", "charged_mv")
"""Rest voltages at no usable charge, a quarter, half, three quarters and all of it."""


class SettingsError(ValueError):
    """Settings that must not be pumped with; ``problems`` lists every reason."""

    def __init__(self, problems: list) -> None:
        super().__init__("; ".join(problems))
        self.problems = problems


class Settings:
    """Checked settings, one attribute a key.

    Raises SettingsError, with every problem, for values that ``settings.problems`` objects to.
    """

    def __init__(self, values: dict, trial: bool = False) -> None:
        from .settings import SCHEMA, problems

        found = problems(values, trial)
        if found:
            raise SettingsError(found)
        for key, _unit, _low, _high, default in SCHEMA:
            setattr(self, key, values.get(key, default))

    def __getattr__(self, key: str) -> int:
        raise AttributeError("no such setting: " + key)

    def values(self) -> dict:
        """Every key with its value, defaults filled in."""
        return dict(self.__dict__)
