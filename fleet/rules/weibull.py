"""A Weibull fit of ages at failure: whether failures grow or fall with age, and how many are left at any age."""

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from operator import mul
from statistics import NormalDist

from fleet.rules.survival import CONFIDENCE, Age, Life, Lives

FEWEST = 5


@dataclass(frozen=True, slots=True)
class Weibull:
    """A Weibull fit: shape and scale by maximum likelihood, with their standard errors from the observed information."""

    shape: float
    scale: float
    shape_error: float
    scale_error: float
    log_likelihood: float
    failures: int
    units: int

    def hazard(self, age: Age) -> float:
        """The cumulative hazard from new to an age."""
        return math.pow(age / self.scale, self.shape)

    def survival(self, age: Age) -> float:
        """The share that is left at an age."""
        return math.exp(-self.hazard(age))

    @property
    def mean(self) -> float:
        """The mean age at failure."""
        return self.scale * math.gamma(1 + 1 / self.shape)

    @property
    def deviation(self) -> float:
        """The standard deviation of the age at failure."""
        return self.scale * math.sqrt(math.gamma(1 + 2 / self.shape) - math.gamma(1 + 1 / self.shape) ** 2)

    @property
    def aic(self) -> float:
        """Akaike's criterion."""
        return 4 - 2 * self.log_likelihood

    @property
    def aicc(self) -> float:
        """Akaike's criterion with its correction for few units."""
        return self.aic + 12 / (self.units - 3)

    def interval(self, *, confidence: float = CONFIDENCE) -> tuple[tuple[float, float], tuple[float, float]]:
        """The limits around shape and scale, on the log scale, so that neither goes below zero."""
        z = NormalDist().inv_cdf((1 + confidence) / 2)
        return _around(self.shape, z * self.shape_error), _around(self.scale, z * self.scale_error)


def _around(value: float, spread: float) -> tuple[float, float]:
    factor = math.exp(spread / value)
    return value / factor, value * factor


class NoFit(StrEnum):
    """Why there is no Weibull fit."""

    TOO_FEW = "too few"
    NO_SPREAD = "no spread"


def weibull(lives: Lives) -> Weibull | NoFit:
    """Fit shape and scale by maximum likelihood, with right censoring and late entry.

    For a given shape k the best scale is known: scale^k = sum(left^k - entered^k) / failures. What remains is a
    likelihood of the shape alone. With late entry it may have more than one top, so the highest of a fine grid of
    shapes is taken first and then its slope brought to zero by halving.
    """
    watched = Counter(lives)
    failures = sum(count for one, count in watched.items() if one.failed)
    if failures < FEWEST:
        return NoFit.TOO_FEW
    if len({one.left for one in watched if one.failed}) < 2:
        return NoFit.NO_SPREAD
    profile = _Profile(watched, failures)
    best = max(range(len(_SHAPES)), key=lambda place: profile.likelihood(_SHAPES[place]))
    if best in (0, len(_SHAPES) - 1):
        return NoFit.NO_SPREAD
    low, high = _SHAPES[best - 1], _SHAPES[best + 1]
    for _ in range(60):
        middle = (low + high) / 2
        if profile.slope(middle) > 0:
            low = middle
        else:
            high = middle
    return profile.fit((low + high) / 2, units=watched.total())


_SHAPES = tuple(math.exp(math.log(0.02) + step * math.log(60 / 0.02) / 120) for step in range(121))


class _Profile:
    """The likelihood of a shape, the scale being the best one for it. Ages are scaled to at most 1, so that no power overflows."""

    def __init__(self, lives: Mapping[Life, int], failures: int) -> None:
        self.failures = failures
        self.longest = max(one.left for one in lives)
        weights = Counter[Age]()
        for one, count in lives.items():
            weights[one.left] += count
            if one.entered:  # one that enters at age zero leaves nothing out
                weights[one.entered] -= count
        self._ages = [math.log(age / self.longest) for age, weight in weights.items() if weight]
        weighed = [float(weight) for weight in weights.values() if weight]
        self._weighed = [weighed]
        for _ in range(2):
            weighed = [weight * log for weight, log in zip(weighed, self._ages, strict=True)]
            self._weighed.append(weighed)
        self._logs = math.fsum(count * math.log(one.left / self.longest) for one, count in lives.items() if one.failed)

    def _sum(self, shape: float, power: int) -> float:
        return float(sum(map(mul, self._weighed[power], map(math.exp, [shape * log for log in self._ages]))))

    def likelihood(self, shape: float) -> float:
        """The log-likelihood, in the scaled ages."""
        r = self.failures
        return r * math.log(shape) - r * math.log(self._sum(shape, 0) / r) + (shape - 1) * self._logs - r

    def slope(self, shape: float) -> float:
        """The slope of the log-likelihood."""
        return self.failures / shape + self._logs - self.failures * self._sum(shape, 1) / self._sum(shape, 0)

    def fit(self, shape: float, *, units: int) -> Weibull:
        """The fit for the best shape, with the errors from the second derivatives in shape and scale."""
        r, total = self.failures, self._sum(shape, 0)
        scale = self.longest * math.exp(math.log(total / r) / shape)
        # Sums over (age / scale)^shape times the powers of ln(age / scale); the plain sum is r at the best scale.
        shift = math.log(total / r) / shape
        first = r * (self._sum(shape, 1) / total - shift)
        second = r * (self._sum(shape, 2) / total - 2 * shift * self._sum(shape, 1) / total + shift * shift)
        of_shape, of_scale, of_both = r / shape**2 + second, r * (shape / scale) ** 2, -first * shape / scale
        spread = of_shape * of_scale - of_both**2
        return Weibull(
            shape,
            scale,
            math.sqrt(of_scale / spread),
            math.sqrt(of_shape / spread),
            self.likelihood(shape) - r * math.log(self.longest),
            r,
            units,
        )
