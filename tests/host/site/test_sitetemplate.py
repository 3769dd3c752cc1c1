"""The site file that is written for people to fill in, and the one that is shipped."""

import dataclasses
import re

import pytest

from rillkeeper.errors import SiteError
from rillkeeper.site.file import DEMO, demo_site, load_site, read_site
from rillkeeper.site.keys import HEADING, TABLES
from rillkeeper.site.template import commented_template
from rillsim.site import Site


@pytest.mark.parametrize("system", ["metric", "us"])
def test_the_template_asks_only_what_is_fitted(system: str) -> None:
    with pytest.raises(SiteError) as caught:
        read_site(commented_template(system))
    assert [mistake.path.split(".")[0] for mistake in caught.value.mistakes] == ["board"] * 7


@pytest.mark.parametrize("system", ["metric", "us"])
def test_the_template_shows_the_defaults(system: str) -> None:
    text = commented_template(system).replace('"?"', '"fitted"')
    kept = text[: text.index("#[[battery_trip]]")].splitlines()
    bare = [re.sub("^#(?=[a-z])", "", line) for line in kept]
    site = read_site("\n".join(line for line in bare if not line.endswith(" =")))
    for field in dataclasses.fields(Site):
        got, default = getattr(site, field.name), getattr(Site(), field.name)
        if field.name in ("name", "units", "fixed", "sets", "battery_trips", "faults", "ranges"):
            continue
        if field.name == "board":
            got = dataclasses.replace(got, current_fitted=False)
        expected = {
            key: pytest.approx(value, rel=1e-3) if isinstance(value, float) else value
            for key, value in vars(default).items()
        }
        assert vars(got) == expected
    assert site.sets == Site().sets


def test_each_key_and_its_sentence_are_in_the_template() -> None:
    text = commented_template()
    flowing = text.replace("\n# ", " ")
    for table in (HEADING, *TABLES):
        assert table is HEADING or table.says in text
        for row in table.rows:
            assert f"{row.key} =" in text, (table.name, row.key)
            assert row.says.rstrip(".") in flowing
    assert max(map(len, text.splitlines())) <= 99


def test_the_demonstration_is_a_site_with_a_week_in_it() -> None:
    site = demo_site()
    assert site == load_site(DEMO)
    assert (site.sets[0].start_s, site.battery.capacity_ah) == (22 * 3600 + 1800, 80.0)
    assert len(site.sets) == 1
    nights = range(1, 8)
    assert [trip.after_night in nights for trip in site.battery_trips] == [True]
    assert 2 <= site.battery_trips[0].after_night <= 5
    assert len({fault.name for fault in site.faults}) >= 3
    assert all(fault.night in nights for fault in site.faults)
