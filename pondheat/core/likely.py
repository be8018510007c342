"""The one level of every likely range, and the stricter one at which a saving counts as shown.

A reader meets one kind of range only: it is meant to hold the truth in 8 cases of 10. A proof asks for more: a saving
counts as shown where one so large would turn up by chance, without any cover, in fewer than 1 of 20 comparisons.
"""

from __future__ import annotations

from statistics import NormalDist

LIKELY = 0.8  # share of cases in which a likely range is meant to hold the truth
QUANTILES = (0.5 - LIKELY / 2, 0.5, 0.5 + LIKELY / 2)  # low end, median and high end of a likely range
LIKELY_REACH = NormalDist().inv_cdf(0.5 + LIKELY / 2)  # standard deviations from the middle to an end, if normal
PROOF = 0.9  # two-sided level at which a saving must be above zero to count as shown: 1 in 20 on that side
MEANING = "8 in 10"
