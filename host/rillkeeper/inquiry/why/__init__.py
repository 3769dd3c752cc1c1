"""What is going wrong on a site, out of the log of its nights: causes, likeliest first.

From a line of the log to a cause:

1. The lines become evidence, night by night and run by run (`runlog.nights.nights_of`), and
   each run and each refusal an attempt with its end: fine, a rule, power lost
   (`attempts.attempts_of`).
2. What each run read becomes signs, one number each, against what the sound site does at the same
   voltage and charge (`signs.SignReader`, `sound_site`).
3. What each trouble would do to those signs is tried out on the site's own model beforehand, some
   two hundred short nights (`signatures.work_out`, `trials.trial`), a part of them with another
   hose or less in the battery (`bends.Bend`), and kept on disk (`cache.signatures_of`). The
   battery's troubles are reckoned along the log itself
   (`batteries.battery_effects`), and the pressures of a port that clogged in a run
   (`held.held_effects`).
4. The signs less those of the sound site, with noise and tolerances, make one row
   (`comparison.comparison_of`).
5. The hypotheses are every cause by every failure mode by every onset by every severity
   (`causes.CAUSES`, `failure_modes.FailureMode`, `onset.onsets_of`,
   `hypotheses.hypotheses_of`).
6. Each is weighed: how likely the row is under it, what the site file leaves open integrated out
   (`likelihood.log_evidence`), times the chance of the ends and its share beforehand.
7. Sums over the hypotheses of a cause give its probability; where no cause has nearly all of it
   by itself, the fewest that have it together are said (`rank.rank`).
8. The first trouble is taken for true and what is left is weighed again, while something more is
   wrong (`diagnosis.diagnose`).
9. The answer says so, with what speaks for it and where to look (`answer.headline_of`,
   `sign_words.evidence_words`; `terminal`, `json_document` and `pages.why` show it), unless the
   log is nothing like the site (`answer.strange_words`).
"""
