"""Material use learnt, against hidden truth and the beta distribution of scipy."""

from datetime import date, timedelta

import numpy as np
import pytest
from scipy import stats

from quotes.labour.learning import MaterialUse, PiecesSpoilt, material_factors, spoilage_shares

DAY = date(2027, 1, 4)


def uses(kind: str, factor: float, jobs: int, seed: int) -> list[MaterialUse]:
    chance = np.random.default_rng(seed)
    return [
        MaterialUse(job=str(job), day=DAY - timedelta(days=job), kind=kind, quoted=quoted, used=quoted * factor * noise)
        for job, (quoted, noise) in enumerate(
            zip(chance.uniform(0.8, 2.5, jobs), np.exp(chance.normal(0, 0.06, jobs)), strict=True)
        )
    ]


def test_the_use_of_cloth_is_recovered_and_wrong_entries_are_set_aside():
    rows = [*uses("cloth", 1.12, 40, 1), *uses("cord", 0.95, 40, 2)]
    rows += [
        MaterialUse(job="50", day=DAY, kind="cloth", quoted=1.5, used=15.0),
        MaterialUse(job="51", day=DAY, kind="cloth", quoted=1.5, used=0.1),
    ]
    cloth, cord = material_factors(rows, on=DAY)
    assert cloth.factor == pytest.approx(1.12, rel=0.03)
    assert cord.factor == pytest.approx(0.95, rel=0.03)
    assert (cloth.entries, cord.entries, cord.set_aside) == (40, 40, ())
    assert [row.why.partition(": ")[2] for row in cloth.set_aside] == [
        "a re-cut, or entered wrongly",
        "not all of it was issued to the job",
    ]
    assert cloth.evidence.endswith("times what was quoted was used on average. 2 entries were set aside.")


def test_one_use_hardly_moves_it_and_none_says_nothing():
    (row,) = material_factors(uses("cloth", 1.5, 1, 3), on=DAY)
    assert 1.0 < row.factor < 1.4
    assert row.evidence.startswith("In 1 job ")
    assert material_factors([], on=DAY) == ()
    assert material_factors(uses("cloth", 1.5, 1, 3), on=DAY - timedelta(days=1)) == ()


def test_spoilage_is_the_beta_posterior():
    """scipy: Beta(100 × 0.05 + 9, 100 + 120), whose chance q makes q ÷ (1 − q) spoilt for each needed."""
    counts = [
        PiecesSpoilt(job="1", day=DAY, kind="grommet", needed=60, spoilt=3),
        PiecesSpoilt(job="2", day=DAY, kind="grommet", needed=60, spoilt=6),
    ]
    (row,) = spoilage_shares(counts, {"grommet": 0.05}, on=DAY)
    posterior = stats.beta(100 * 0.05 + 9, 100 + 120)
    chance = posterior.mean()
    assert row.share == pytest.approx(chance / (1 - chance))
    assert row.standard_error == pytest.approx(posterior.std() / (1 - chance) ** 2)
    assert row.jobs == 2
    assert row.evidence == (
        "9 were spoilt where 120 were needed, in 2 jobs; with the 5 % that was assumed this makes 6.4 %."
    )


def test_old_spoilage_fades_and_younger_is_not_known():
    def share(days: int) -> float:
        counts = [PiecesSpoilt(job="1", day=DAY - timedelta(days=days), kind="tip", needed=50, spoilt=25)]
        return spoilage_shares(counts, {"tip": 0.10}, on=DAY)[0].share

    assert share(0) == pytest.approx((10 + 25) / (100 + 50))
    assert share(548) == pytest.approx((10 + 12.5) / (100 + 25))
    young = PiecesSpoilt(job="1", day=DAY + timedelta(days=1), kind="tip", needed=50, spoilt=25)
    assert spoilage_shares([young], {"tip": 0.10}, on=DAY) == ()


def test_impossible_amounts_are_refused():
    with pytest.raises(ValueError, match="above 0"):
        MaterialUse(job="1", day=DAY, kind="cloth", quoted=0.0, used=1.0)
    with pytest.raises(ValueError, match="needed"):
        PiecesSpoilt(job="1", day=DAY, kind="tip", needed=0, spoilt=1)
