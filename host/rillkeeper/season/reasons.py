"""Why nights were cut or missed, in words, and what would help at this site."""

from collections import Counter

from rillkeeper.display_units import Shown, clock_text, counted
from rillkeeper.runlog.rule_text import CAUSE_WORDS, RULES
from rillkeeper.season.answer import Variant
from rillkeeper.season.causes import AWAY, BY_CHANCE, DOUBTED, EMPTY, SHORTENED, SOURCE
from rillsim.faults.catalogue import find

TOLD = 4
"""So many causes are told."""
WORDS = {
    SOURCE: "the source is below the strainer",
    EMPTY: "the battery is not charged in time",
    AWAY: "the battery is away when the set begins",
    DOUBTED: "the board takes the battery for emptier than it is",
}
SAID = {"missed": "the board stood locked, flat or without power", SHORTENED: SHORTENED}


def ranked(causes: Counter[str]) -> list[tuple[str, int]]:
    """Causes with their nights, most first, and by their names where they are as many."""
    return sorted(causes.items(), key=lambda item: (-item[1], item[0]))


def cause_words(cause: str) -> str:
    """One cause in words."""
    if cause.startswith(BY_CHANCE):
        sentence = find(cause.removeprefix(BY_CHANCE)).sentence.rstrip(".")
        return f'a fault came by chance, "{sentence}"'
    return WORDS.get(cause) or said_words(cause)


def said_words(said: str) -> str:
    """What the board said, in a few words."""
    if said in SAID:
        return SAID[said]
    return RULES[said].short if said in RULES else CAUSE_WORDS.get(said, said)


def reasons(variant: Variant) -> str:
    """The causes, with how often, and with what the board has called them."""
    told = []
    for cause, nights in ranked(variant.causes)[:TOLD]:
        said = [said_words(one) for one, _ in ranked(variant.said[cause])]
        names = [one for one in dict.fromkeys(said) if one != cause_words(cause)][:2]
        called = f'; the board says "{" or ".join(names)}"' if names else ""
        told.append(f"{cause_words(cause)} ({nights / variant.years:.1f} nights a year{called})")
    return f"What cuts or stops nights: {'; '.join(told)}." if told else ""


def helps(variant: Variant, nights: int) -> str:
    """What would help against the causes that matter."""
    told = ranked(variant.causes)[:TOLD]
    found = [help_for(variant, cause, nights) for cause, count in told if count >= told[0][1] / 10]
    return " ".join(dict.fromkeys(one for one in found if one))


def help_for(variant: Variant, cause: str, nights: int) -> str:
    """What would help against one cause; a sentence."""
    if cause == SOURCE:
        return _against_sinking(variant, nights)
    home = variant.site.home
    if cause == EMPTY:
        looks = (
            "carry it home when the board asks"
            if not home.when_asked
            else (
                "look at the board every day" if home.looks_every > 1 else "carry it home earlier"
            )
        )
        return (
            f"Against an empty battery: {looks}, fit a bigger one than "
            f"{variant.site.battery.capacity_ah:.0f} Ah, or water less a night."
        )
    if cause == AWAY:
        first = clock_text(min(one.start_s for one in variant.site.sets))
        return f"The battery must be back before the first set begins, at {first}."
    if cause == DOUBTED:
        return "Test what the battery holds (rillkeeper capacity): the board counts by its label."
    if cause.startswith(BY_CHANCE):
        often = "oftener than every " + counted(home.looks_every, "day")
        often = often if home.looks_every else "at all"
        return f"Faults that come by chance are over sooner where somebody looks {often}."
    return RULES[cause].look if cause in RULES else ""


def _against_sinking(variant: Variant, nights: int) -> str:
    """By how much the strainer must go down, or what must be stored."""
    water, shown = variant.site.water, Shown(variant.site.units)
    if water.stored_m3 > 0.0:
        litres = variant.band("litres")[1]
        return (
            f"Against the empty store: it holds {shown.text(water.stored_m3, 'volume')}, and "
            f"{shown.text(litres / 1000.0, 'volume')} went through the sprinkler in the year in "
            "the middle; a larger store, more roof or inflow, or a refill."
        )
    falls_m = water.fall_m_per_day * nights
    if falls_m <= water.cover_m:
        return ""
    after = water.cover_m / water.fall_m_per_day
    return (
        f"Against the sinking source: it falls {shown.text(water.fall_m_per_day, 'water depth')} "
        f"a day and stands {shown.text(water.cover_m, 'length')} over the strainer, so it is "
        f"below it after some {after:.0f} nights; it lasts {nights} with the strainer "
        f"{shown.text(falls_m - water.cover_m, 'length')} lower (mind the lift), or if it is "
        "filled up."
    )
