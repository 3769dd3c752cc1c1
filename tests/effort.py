"""How much is tried: in `make test` the same few examples everywhere, in `make campaign` many new.

Nothing in `make test` is drawn at random: hypothesis derives its examples from the test itself,
keeps none from one run to the next, and no machine's speed decides a verdict.
"""

import os

from hypothesis import HealthCheck, settings

VARIABLE = "RILLKEEPER_CAMPAIGN"
"""Set by tests/campaign: examples are drawn from the seed that it gives."""
IN_CAMPAIGN = VARIABLE in os.environ


def load_profile() -> None:
    """Choose what every ``@given`` does that says nothing else."""
    settings.register_profile("test", deadline=None, database=None, derandomize=True)
    settings.register_profile(
        "campaign",
        deadline=None,
        database=None,
        print_blob=True,
        suppress_health_check=[HealthCheck.too_slow],
    )
    settings.load_profile("campaign" if IN_CAMPAIGN else "test")


def examples(in_test: int, in_campaign: int) -> settings:
    """So many examples of a test that takes long: a decorator."""
    return settings(max_examples=in_campaign if IN_CAMPAIGN else in_test)
