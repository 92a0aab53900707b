"""The band that everything is told with: the central 80 %. One in ten falls below it, one in ten
above."""

from statistics import NormalDist

# Standard normal deviate of 90 %: half the width of the band of a standard normal.
Z90 = NormalDist().inv_cdf(0.9)
