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
    are the first ones on the standard deviations. Without values there are no effects.
    """
    columns = [
        (group, level) for group in weights for level in sorted({name for row in weights[group] for name in row})
    ]
    if not columns:
        return Pooled({}, dict(beliefs), noise_belief, block_belief)
    groups = np.array([list(weights).index(group) for group, _ in columns])
    data = _Data.of(
        values, [[weights[g][i].get(level, 0.0) for g, level in columns] for i in range(len(values))], blocks
    )
    first = np.array([beliefs[group] ** 2 for group in weights])
    now = _Variances(first, block_belief**2, noise_belief**2)
    mean, cover = _effects(data, now, groups)
    for _ in range(MOST_ROUNDS):
        before = now
        squares = mean**2 + np.diag(cover)
        group = np.array([_held(squares[groups == g], first[g]) for g in range(len(first))])
        block, noise = _blocks_and_noise(data, before, mean, cover)
        now = _Variances(group, _held(block, block_belief**2), _held(noise, noise_belief**2))
        mean, cover = _effects(data, now, groups)
        if now.moved(before) < SETTLED:
            break
    effects: dict[str, dict[str, Effect]] = {name: {} for name in weights}
    for i, (name, level) in enumerate(columns):
        variance, prior = float(cover[i, i]), float(now.group[groups[i]])
        share = min(1.0, max(0.0, 1 - variance / prior))
        effects[name][level] = Effect(float(mean[i]), variance**0.5, share, float(data.design[:, i].sum()))
    sds = {name: float(now.group[g] ** 0.5) for g, name in enumerate(weights)}
    return Pooled(effects, sds, now.noise**0.5, now.block**0.5)


@dataclass(frozen=True, eq=False)
class _Data:
    design: Array
    """Shape (values, levels)."""
    y: Array
    codes: NDArray[np.intp]
    """Shape (values,): the number of each value's block."""
    sizes: Array
    """Shape (blocks,)."""
    gram: Array
    toward: Array
    block_design: Array
    """Shape (blocks, levels): the design summed over each block."""
    block_y: Array

    @classmethod
    def of(cls, values: Sequence[float], rows: Sequence[Sequence[float]], blocks: Sequence[str]) -> _Data:
        design, y = np.asarray(rows, dtype=np.float64), np.asarray(values, dtype=np.float64)
        names, codes = np.unique(np.array(blocks), return_inverse=True)
        block_design = np.zeros((names.size, design.shape[1]))
        np.add.at(block_design, codes, design)
        return cls(
            design=design,
            y=y,
            codes=codes,
            sizes=np.bincount(codes).astype(np.float64),
            gram=design.T @ design,
            toward=design.T @ y,
            block_design=block_design,
            block_y=np.bincount(codes, y),
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


def _effects(data: _Data, now: _Variances, groups: NDArray[np.intp]) -> tuple[Array, Array]:
    """Return the mean, shape (levels,), and covariance, shape (levels, levels), of the effects, blocks summed out.

    The covariance of the values of a block of n is noise I + block 1 1', whose inverse is (I - share 1 1') / noise.
    """
    share = now.block_share(data.sizes)
    precise = (data.gram - data.block_design.T @ (share[:, None] * data.block_design)) / now.noise
    toward = (data.toward - data.block_design.T @ (share * data.block_y)) / now.noise
    cover = np.linalg.inv(precise + np.diag(1 / now.group[groups]))
    return cover @ toward, cover


def _blocks_and_noise(data: _Data, now: _Variances, mean: Array, cover: Array) -> tuple[Array, Array]:
    """Return the expected squares of each block's effect, and of the noise spread evenly over the values.

    With e the values less the effects: a block's effect is share sum(e) with variance block noise / (noise + n block).
    """
    residual = data.y - data.design @ mean
    sums = np.bincount(data.codes, residual) ** 2 + np.sum((data.block_design @ cover) * data.block_design, axis=1)
    share = now.block_share(data.sizes)
    left = share * now.noise
    whole = float(residual @ residual + np.sum(data.gram * cover))
    noise = whole + float(np.sum(sums * (data.sizes * share**2 - 2 * share) + data.sizes * left))
    return share**2 * sums + left, np.full(data.y.size, noise / data.y.size)
