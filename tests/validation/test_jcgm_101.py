"""The random numbers and their figures against JCGM 101:2008 and JCGM 100:2008 (from memory), and
against scipy.stats.

JCGM 101, 9.2, additive model Y = X1 + X2 + X3 + X4:
9.2.2 normal, u = 1 each: u(y) = 2.00, 95 % interval -3.92 to 3.92;
9.2.3 rectangular, u = 1 each: u(y) = 2.00, -3.88 to 3.88;
9.2.4 the same, one with u = 10: u(y) = 10.1, -17.0 to 17.0.
"""

import numpy as np
import pytest
from scipy import stats

from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.surfaces.cope import cope_of, copes_of
from frame3d.tolerance.chance import quantile_of, share_of
from frame3d.tolerance.displaced_cut import cut
from frame3d.tolerance.setup_errors import Spread, Spreads, setups_of, shop_spreads, stream
from frame3d.tolerance.simulate import drawn, gaps, targets_of
from frame3d.tolerance.target import Target, target_of

MANY = 400_000
CENTRING_MM = 0.1


def t_joint() -> Frame:
    post = Tube("post", (0, 0, -300), (0, 0, 300), Profile.constant(36.0), Profile.constant(1.2))
    rail = Tube("rail", (0, 0, 0), (400, 0, 120), Profile.constant(28.6), Profile.constant(0.9))
    joint = Joint("rail", "start", ("post",), (37.0,))
    return Frame("t", "fillet-braze", (post, rail), (joint,), Limits(3, 10, 0.02, 1), Shop())


def quiet(**sizes: float) -> Spreads:
    """The shop with these errors alone."""
    names = shop_spreads()
    return shop_spreads({name: sizes.get(name.replace(" ", "_"), 0.0) for name in names})


@pytest.mark.parametrize(
    ("shape", "sizes", "deviation", "bound"),
    [
        ("normal", (1.0, 1.0, 1.0, 1.0), 2.00, 3.92),
        ("rectangular", (3**0.5,) * 4, 2.00, 3.88),
        ("rectangular", (3**0.5, 3**0.5, 3**0.5, 300**0.5), 10.1, 17.0),
    ],
)
def test_additive_model_of_jcgm_101(
    shape: str, sizes: tuple[float, ...], deviation: float, bound: float
) -> None:
    total = np.zeros(MANY)
    to_size = stats.norm.ppf(0.975) if shape == "normal" else 1.0
    for i, size in enumerate(sizes):
        spread = Spread(shape, size * to_size)  # type: ignore[arg-type]
        total += spread.size * spread.standard(stream(1, str(i)), (MANY,))
    assert total.std() == pytest.approx(deviation, abs=0.06)  # 10.149 is tabled as 10.1
    for at, wanted in ((0.025, -bound), (0.975, bound)):
        found = quantile_of(total, at)
        assert abs(found.value - wanted) < 4 * found.error + 0.05  # tabled to three figures


def test_linear_responses_add_as_jcgm_100_says() -> None:
    """The seat answers to length, saw and mate in straight lines at this size: the deviation of
    many draws is the root of the squared sensitivities times deviations (JCGM 100:2008, 5.1.2)."""
    frame = t_joint()
    target = target_of(cope_of(frame, frame.joints[0]))
    spreads = quiet(length=0.1, saw=0.04, mate_od=0.06)
    names = ("length", "saw", "mate od")
    squares = 0.0
    for name in names:
        step = 1e-4
        two = cut(target, setups_of(target, {name: np.array([[step], [-step]])}, 2)).seat
        squares += ((two[0] - two[1]) / (2 * step) * spreads[name].deviation) ** 2
    draws = {n: v for n, v in _draws(frame, spreads, 40_000).items() if n in names}
    seat = cut(target, setups_of(target, draws, 40_000)).seat
    assert seat.std() == pytest.approx(squares**0.5, rel=0.02)


def test_centring_alone_follows_the_folded_normal_distribution() -> None:
    """The gap rises with the size of the error whatever its sign, so its quantiles are the gap at
    those of scipy's half-normal distribution, and the chance to pass is its cumulative value."""
    frame = t_joint()
    key = ("rail", "start")
    targets = targets_of(copes_of(frame))
    spreads = quiet(centring=CENTRING_MM * stats.norm.ppf(0.975))
    found = gaps(targets, drawn(frame, targets, spreads, 20_000, 3))[key]  # type: ignore[index]
    half = stats.halfnorm(scale=CENTRING_MM)
    for at in (0.25, 0.5, 0.9, 0.95):
        estimate = quantile_of(found, at)
        wanted = _gap_at(targets[key], half.ppf(at))  # type: ignore[index]
        assert abs(estimate.value - wanted) < 4 * estimate.error + 1e-5
    limit = _gap_at(targets[key], 0.12)  # type: ignore[index]
    passing = share_of(found <= limit)
    assert abs(passing.value - half.cdf(0.12)) < 4 * passing.error


def test_19_of_20_of_a_normal_error_are_within_the_size_that_the_shop_file_tells() -> None:
    """scipy.stats: the two-sided 95 % interval of a normal distribution."""
    spread = Spread("normal", 0.3)
    low, high = stats.norm.interval(0.95, scale=spread.deviation)
    assert (low, high) == pytest.approx((-0.3, 0.3), abs=1e-12)
    values = spread.size * spread.standard(stream(1, "x"), (MANY,))
    assert (abs(values) < 0.3).mean() == pytest.approx(0.95, abs=0.002)


def test_standard_error_of_a_chance_is_the_binomial_one() -> None:
    hits = stream(2, "hits").random((500, 400)) < 0.9
    chances = [share_of(row) for row in hits]
    scatter = np.std([chance.value for chance in chances])
    assert scatter == pytest.approx(stats.binom(400, 0.9).std() / 400, rel=0.15)
    assert np.mean([chance.error for chance in chances]) == pytest.approx(scatter, rel=0.15)


def _draws(frame: Frame, spreads: Spreads, count: int) -> dict[str, np.ndarray]:
    targets = targets_of(copes_of(frame))
    return drawn(frame, targets, spreads, count, 9)["rail", "start"]


def _gap_at(target: Target, centring: float) -> float:
    values = {"centring": np.array([[centring]])}
    return float(cut(target, setups_of(target, values, 1)).gap()[0])
