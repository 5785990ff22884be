"""Share and mean mass of plants above a threshold against SciPy's lognormal distribution."""

from __future__ import annotations

import math

import pytest

from growsim.growth.harvest import mean_above, share_above


@pytest.mark.parametrize("cv", [0.05, 0.2, 0.6, 1.2])
@pytest.mark.parametrize("threshold_g", [20.0, 49.0, 90.0, 140.0, 200.0])
def test_cut_shares_and_masses(threshold_g: float, cv: float) -> None:
    """Survival function and conditional mean, lot of mean 140 g."""
    from scipy.stats import lognorm

    sigma = math.sqrt(math.log(1.0 + cv * cv))
    plants = lognorm(s=sigma, scale=140.0 * math.exp(-sigma * sigma / 2.0))

    assert share_above(threshold_g, 140.0, cv) == pytest.approx(float(plants.sf(threshold_g)), rel=1e-9, abs=1e-15)
    if plants.sf(threshold_g) > 1e-6:
        expected = float(plants.expect(lb=threshold_g, conditional=True))
        assert mean_above(threshold_g, 140.0, cv) == pytest.approx(expected, rel=1e-5)
