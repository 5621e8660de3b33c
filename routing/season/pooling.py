"""Partial pooling: how much each level of several crossed groups strays, few values leaning on no straying at all.

The model of each value: y = sum of its levels' effects + its block's effect + noise, where the effects of a group are
normal about 0 with that group's variance, and so are blocks and noise. Blocks (dates) are many and of no interest one
by one, so they are summed out in closed form, which keeps the matrices as small as the groups. Given the variances,
effects are the closed-form posterior mean; the variances are found by expectation-maximisation, held near first beliefs
by scaled inverse chi-squared priors, so that two visits cannot claim to know how sites differ.

Source: empirical Bayes and best linear unbiased prediction: Robinson, "That BLUP is a good thing", Statistical Science
6(1), 1991; Gelman and others, "Bayesian Data Analysis", 3rd edition, chapter 15 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

BELIEF_COUNT = 6.0
"""First beliefs on a variance weigh as much as so many levels or values."""
MOST_ROUNDS = 60
SETTLED = 1e-3
MOST_PASSES = 6
"""So often values are weighed anew by what the others say."""
DOUBTED, DROPPED = 2.5, 3.5
"""Standard deviations from its forecast at which a value begins to be doubted, and at which it counts for nothing.
Common practice, no source."""
LEAST_TRUST = 1e-3
"""What counts for nothing weighs so much still, so that it can be weighed anew."""
ENOUGH_SCORES = 10
NORMAL_MEDIAN = 0.6745
"""Half of a standard normal distribution lies nearer to 0 than this. Source: NIST/SEMATECH e-Handbook, 1.3.5.6."""
LEAST_SCALE = 0.4
"""Common practice, no source: alike values do not make a slip of every small difference."""


@dataclass(frozen=True)
class Effect:
    """What is known of one level: the middle and the standard deviation of its effect."""

    mean: float
    sd: float
    share: float
    """From 0, all belief, to 1, all record: how much of the first uncertainty the record took away."""
    count: float
    """How many values speak of it, weighted."""


@dataclass(frozen=True)
class Pooled:
    """Effects by group and level, and the standard deviations that were found."""

    effects: Mapping[str, Mapping[str, Effect]]
    group_sd: Mapping[str, float]
    noise_sd: float
    block_sd: float
    """Of what all values of one block share."""
    trust: tuple[float, ...]
    """How far each value is trusted, 1 to 0."""


def pool(
    values: Sequence[float],
    weights: Mapping[str, Sequence[Mapping[str, float]]],
    beliefs: Mapping[str, float],
    blocks: Sequence[str],
    block_belief: float,
    noise_belief: float,
) -> Pooled:
    """Return the effects of all levels of all groups.

    `weights[group][i]` holds the levels of value i in that group with their shares, `blocks[i]` its block; the beliefs
    are the first ones on the standard deviations. Without values there are no effects. A value that lies far from what
    all the others foretell of it is trusted less, or not at all.
    """
    columns = [
        (group, level) for group in weights for level in sorted({name for row in weights[group] for name in row})
    ]
    if not columns:
        return Pooled({}, dict(beliefs), noise_belief, block_belief, ())
    groups = np.array([list(weights).index(group) for group, _ in columns])
    rows = [[weights[g][i].get(level, 0.0) for g, level in columns] for i in range(len(values))]
    first = np.array([beliefs[group] ** 2 for group in weights])
    start = _Variances(first, block_belief**2, noise_belief**2)
    trust = np.ones(len(values))
    for _ in range(MOST_PASSES):
        data = _Data.of(values, rows, blocks, trust)
        now, mean, cover = _fitted(data, start, groups)
        few = len(values) < ENOUGH_SCORES  # few values cannot tell a slip from their own spread: first beliefs can
        fresh = trusted(
            left_out_scores(data, *((start, *_effects(data, start, groups)) if few else (now, mean, cover)))
        )
        if np.abs(fresh - trust).max() < SETTLED:
            break
        trust = fresh
    effects: dict[str, dict[str, Effect]] = {name: {} for name in weights}
    for i, (name, level) in enumerate(columns):
        variance, prior = float(cover[i, i]), float(now.group[groups[i]])
        share = min(1.0, max(0.0, 1 - variance / prior))
        effects[name][level] = Effect(float(mean[i]), variance**0.5, share, float(data.count[i]))
    sds = {name: float(now.group[g] ** 0.5) for g, name in enumerate(weights)}
    return Pooled(effects, sds, now.noise**0.5, now.block**0.5, tuple(float(one) for one in data.trust))


def trusted(scores: Array) -> Array:
    """Return how far each value is trusted, 1 to next to nothing, by its standard deviations from its forecast.

    In full up to `DOUBTED`, not at all from `DROPPED` on, in proportion between. Slips widen the standard deviations
    that they are measured by; so where half of many scores are smaller than a normal distribution has them, all are
    scaled up to fit it. Source of the scale: median absolute deviation, NIST/SEMATECH e-Handbook, 1.3.5.6 (from
    memory).
    """
    size = np.abs(scores)
    if size.size >= ENOUGH_SCORES:
        size = size / min(1.0, max(LEAST_SCALE, float(np.median(size)) / NORMAL_MEDIAN))
    return np.asarray(np.clip((DROPPED - size) / (DROPPED - DOUBTED), LEAST_TRUST, 1.0))


def _fitted(data: _Data, start: _Variances, groups: NDArray[np.intp]) -> tuple[_Variances, Array, Array]:
    """Return variances, and the mean and covariance of the effects at them, by expectation-maximisation."""
    now = start
    mean, cover = _effects(data, now, groups)
    for _ in range(MOST_ROUNDS):
        before = now
        squares = mean**2 + np.diag(cover)
        group = np.array([_held(squares[groups == g], start.group[g]) for g in range(len(start.group))])
        block, noise = _blocks_and_noise(data, before, mean, cover)
        now = _Variances(group, _held(block, start.block), _held_mean(noise, float(data.trust.sum()), start.noise))
        mean, cover = _effects(data, now, groups)
        if now.moved(before) < SETTLED:
            break
    return now, mean, cover


@dataclass(frozen=True, eq=False)
class _Data:
    """The values, each row multiplied by the square root of its trust: then the noise of all is alike again."""

    design: Array
    """Shape (values, levels)."""
    y: Array
    trust: Array
    """Shape (values,), 1 to 0."""
    codes: NDArray[np.intp]
    """Shape (values,): the number of each value's block."""
    sizes: Array
    """Shape (blocks,): the trust of its values added up."""
    gram: Array
    toward: Array
    count: Array
    """Shape (levels,): how many values speak of each level."""
    block_design: Array
    """Shape (blocks, levels): the design summed over each block."""
    block_y: Array

    @classmethod
    def of(cls, values: Sequence[float], rows: Sequence[Sequence[float]], blocks: Sequence[str], trust: Array) -> _Data:
        root = np.sqrt(trust)
        plain, y = np.asarray(rows, dtype=np.float64), np.asarray(values, dtype=np.float64) * root
        design = plain * root[:, None]
        names, codes = np.unique(np.array(blocks), return_inverse=True)
        block_design = np.zeros((names.size, design.shape[1]))
        np.add.at(block_design, codes, design * root[:, None])
        return cls(
            design=design,
            y=y,
            trust=trust,
            codes=codes,
            sizes=np.bincount(codes, trust, names.size),
            gram=design.T @ design,
            toward=design.T @ y,
            count=(plain * trust[:, None]).sum(axis=0),
            block_design=block_design,
            block_y=np.bincount(codes, y * root, names.size),
        )


@dataclass(frozen=True, eq=False)
class _Variances:
    group: Array
    block: float
    noise: float

    def moved(self, other: _Variances) -> float:
        """Return the largest relative change."""
        changes = [
            np.abs(self.group / other.group - 1).max(),
            self.block / other.block - 1,
            self.noise / other.noise - 1,
        ]
        return float(np.abs(changes).max())

    def block_share(self, sizes: Array) -> Array:
        """Return for each block by what its values' sum is multiplied to give its effect."""
        return self.block / (self.noise + sizes * self.block)


def _held(squares: Array, first: float) -> float:
    """Return a variance from expected squares, held near its first belief."""
    return float((squares.sum() + BELIEF_COUNT * first) / (squares.size + BELIEF_COUNT))


def _held_mean(squares: float, size: float, first: float) -> float:
    """Return a variance likewise, from the sum of so many expected squares."""
    return (squares + BELIEF_COUNT * first) / (size + BELIEF_COUNT)


def _effects(data: _Data, now: _Variances, groups: NDArray[np.intp]) -> tuple[Array, Array]:
    """Return the mean, shape (levels,), and covariance, shape (levels, levels), of the effects, blocks summed out.

    The covariance of the values of a block of n is noise I + block 1 1', whose inverse is (I - share 1 1') / noise.
    """
    share = now.block_share(data.sizes)
    precise = (data.gram - data.block_design.T @ (share[:, None] * data.block_design)) / now.noise
    toward = (data.toward - data.block_design.T @ (share * data.block_y)) / now.noise
    cover = np.linalg.inv(precise + np.diag(1 / now.group[groups]))
    return cover @ toward, cover


def _blocks_and_noise(data: _Data, now: _Variances, mean: Array, cover: Array) -> tuple[Array, float]:
    """Return the expected squares of each block's effect, and the sum of those of the noise.

    With e the values less the effects: a block's effect is share sum(e) with variance block noise / (noise + n block).
    """
    sums = _sums_of(data, mean)
    residual = data.y - data.design @ mean
    squares = sums**2 + np.sum((data.block_design @ cover) * data.block_design, axis=1)
    share = now.block_share(data.sizes)
    left = share * now.noise
    whole = float(residual @ residual + np.sum(data.gram * cover))
    noise = whole + float(np.sum(squares * (data.sizes * share**2 - 2 * share) + data.sizes * left))
    return share**2 * squares + left, noise


def _sums_of(data: _Data, mean: Array) -> Array:
    """Return for each block the sum of its values less the effects, each by its trust."""
    return np.asarray(data.block_y - data.block_design @ mean)


def left_out_scores(data: _Data, now: _Variances, mean: Array, cover: Array) -> Array:
    """Return how far each value lies from what all others foretell of it, in standard deviations of that forecast.

    With V the covariance of the values, the residual of a value left out is (V^-1 y)_i / (V^-1)_ii and its variance
    1 / (V^-1)_ii; of that variance what the value lacks in trust is taken off. Source: Rasmussen and Williams,
    "Gaussian Processes for Machine Learning", 2006, equation 5.12 (from memory).
    """
    share = now.block_share(data.sizes)[data.codes]
    root = np.sqrt(data.trust)
    sums = _sums_of(data, mean)[data.codes]
    tilted = (data.design - (share * root)[:, None] * data.block_design[data.codes]) / now.noise
    precision = (1 - share * data.trust) / now.noise - np.einsum("ij,jk,ik->i", tilted, cover, tilted)
    toward = (data.y - data.design @ mean - share * root * sums) / now.noise
    forecast = np.maximum(1 / precision - now.noise, 0.0) / data.trust
    return np.asarray(toward / precision / root / np.sqrt(forecast + now.noise))
