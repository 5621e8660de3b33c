"""Partial pooling against closed forms that can be reckoned by hand, and against seasons whose truth is known."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.season.pooling import pool


def dates(count: int) -> list[str]:
    return [str(number) for number in range(count)]


def one_group(names: list[str]) -> dict[str, list[dict[str, float]]]:
    return {"site": [{name: 1.0} for name in names]}


def test_a_single_level_is_the_normal_normal_posterior_of_the_textbooks() -> None:
    """Mean = n y / (n + noise / prior), variance = 1 / (1 / prior + n / noise), with the variances that were found.

    Each value is a date of its own, so what a date adds is noise too.

    Source: Gelman and others, "Bayesian Data Analysis", equations of the normal model with known variance (from memory).
    """
    values = [0.2, 0.3, 0.25, 0.35]
    found = pool(values, one_group(["a"] * 4), {"site": 0.15}, list("abcd"), 0.1, 0.25)
    prior, noise = found.group_sd["site"] ** 2, found.noise_sd**2 + found.block_sd**2
    effect = found.effects["site"]["a"]
    assert effect.mean == pytest.approx(4 * np.mean(values) / (4 + noise / prior), rel=1e-9)
    assert effect.sd**2 == pytest.approx(1 / (1 / prior + 4 / noise), rel=1e-9)
    assert effect.share == pytest.approx(1 - effect.sd**2 / prior, rel=1e-9)
    assert effect.count == 4


def test_few_values_lean_on_the_default_and_many_on_the_record() -> None:
    names = ["seldom"] * 1 + ["often"] * 60
    values = [0.4, *([0.15, 0.65] * 30)]
    found = pool(values, one_group(names), {"site": 0.3}, dates(61), 0.1, 0.25).effects["site"]
    assert found["seldom"].share < 0.75
    assert found["often"].share > 0.97
    assert 0 < found["seldom"].mean < found["often"].mean < 0.4


@given(st.lists(st.tuples(st.sampled_from("abcd"), st.floats(-1.6, 1.6)), min_size=1, max_size=30))
@settings(max_examples=60, deadline=None)
def test_effects_never_leave_the_values_and_uncertainty_never_grows(rows: list[tuple[str, float]]) -> None:
    names, values = zip(*rows, strict=True)
    found = pool(values, one_group(list(names)), {"site": 0.2}, dates(len(values)), 0.1, 0.2)
    for name, effect in found.effects["site"].items():
        own = [value for level, value in rows if level == name]
        assert min(0, *own) - 1e-9 <= effect.mean <= max(0, *own) + 1e-9
        assert 0 < effect.sd <= found.group_sd["site"] + 1e-12
        assert 0 <= effect.share <= 1


@given(st.permutations(range(12)))
@settings(max_examples=20, deadline=None)
def test_the_order_of_the_record_does_not_matter(order: list[int]) -> None:
    values = [0.1 * math.sin(i) for i in range(12)]
    names = ["abc"[i % 3] for i in range(12)]
    straight = pool(values, one_group(names), {"site": 0.2}, dates(12), 0.1, 0.2)
    turned = pool(
        [values[i] for i in order],
        one_group([names[i] for i in order]),
        {"site": 0.2},
        [dates(12)[i] for i in order],
        0.1,
        0.2,
    )
    for name in "abc":
        assert turned.effects["site"][name].mean == pytest.approx(straight.effects["site"][name].mean, abs=1e-9)


def test_nothing_recorded_teaches_nothing() -> None:
    found = pool([], {"site": []}, {"site": 0.2}, [], 0.1, 0.3)
    assert (found.effects, found.group_sd, found.noise_sd, found.block_sd) == ({}, {"site": 0.2}, 0.3, 0.1)


def test_summing_the_dates_out_is_the_same_as_one_effect_for_each() -> None:
    """The posterior with dates as a third group, written out in full, at the variances that were found."""
    dice = np.random.default_rng(8)
    rows = [(int(dice.integers(3)), int(dice.integers(5))) for _ in range(20)]
    y = dice.normal(0.2, 0.3, 20)
    found = pool(list(y), one_group([str(s) for s, _ in rows]), {"site": 0.2}, [str(d) for _, d in rows], 0.15, 0.2)
    present = sorted({d for _, d in rows})
    design = np.array([[s == k for k in range(3)] + [d == k for k in present] for s, d in rows], dtype=float)
    prior = np.array([found.group_sd["site"] ** 2] * 3 + [found.block_sd**2] * len(present))
    cover = np.linalg.inv(design.T @ design / found.noise_sd**2 + np.diag(1 / prior))
    mean = cover @ design.T @ y / found.noise_sd**2
    for k in range(3):
        effect = found.effects["site"][str(k)]
        assert effect.mean == pytest.approx(mean[k], abs=1e-9)
        assert effect.sd == pytest.approx(cover[k, k] ** 0.5, abs=1e-9)


def test_crossed_groups_are_told_apart_and_the_bands_hold_the_truth() -> None:
    """Forty invented seasons of 240 visits: about four of five true effects lie in the bands of 80 %."""
    dice = np.random.default_rng(3)
    inside: list[bool] = []
    for _ in range(40):
        kinds, sites, days = dice.normal(0, 0.3, 6), dice.normal(0, 0.15, 12), dice.normal(0, 0.12, 40)
        rows = [(int(dice.integers(6)), int(dice.integers(12)), int(dice.integers(40))) for _ in range(240)]
        values = [kinds[k] + sites[s] + days[d] + dice.normal(0, 0.2) for k, s, d in rows]
        weights = {"kind": [{str(k): 1.0} for k, _, _ in rows], "site": [{str(s): 1.0} for _, s, _ in rows]}
        found = pool(values, weights, {"kind": 0.35, "site": 0.15}, [str(d) for _, _, d in rows], 0.12, 0.25)
        for group, truths in (("kind", kinds), ("site", sites)):
            for level, truth in enumerate(truths):
                effect = found.effects[group][str(level)]
                inside.append(abs(effect.mean - truth) <= 1.2816 * effect.sd)
        assert found.noise_sd == pytest.approx(0.2, abs=0.04)
    assert 0.75 <= sum(inside) / len(inside) <= 0.86
