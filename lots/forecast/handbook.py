from dataclasses import dataclass


@dataclass(frozen=True)
class Range:
    low: float
    high: float


@dataclass(frozen=True)
class Q:
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True)
class Expectation:
    struck: Range
    finished: Range
    take: Range
    source: str
    grade: str
    fallback: bool


def expect(g, m, s):
    return Expectation(Range(21, 42), Range(110, 180), Range(0.5, 0.9), "x", "y", False)


def forecast(r):
    return Q(r.low, (r.low * r.high) ** 0.5, r.high)
