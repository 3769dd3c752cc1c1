"""What the recorded nights teach about a site: its uncertain inputs, fitted, with their spread.

1. The inputs that an owner can only guess, each with the spread in which real ones lie
   (`inputs.inputs_of`), and the readings of the runs that were as they should be
   (`model.runs_of`, `model.readings_of`).
2. The readings that a site with other inputs would give, its battery led through the same nights
   (`model.Model.predict`).
3. The inputs that suit readings and expectation best, and how sure each is (`fit.fit`); runs that
   are not like the others are left out, and it is fitted again (`fit_site.learn`).
4. In words and numbers (`summary`; `terminal`, `json_document` and `pages.learn` show it), and
   as a file that takes the place of the site's own values (`overlay.text_of`,
   `overlay.site_with_learned`).
"""

from rillkeeper.inquiry.learn.fit_site import LearnedSite, learn
from rillkeeper.inquiry.learn.overlay import site_with_learned

__all__ = ("LearnedSite", "learn", "site_with_learned")
