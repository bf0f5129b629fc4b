"""The care on the mill page: set as near as told, 19 of 20 joints close."""

from dataclasses import replace
from pathlib import Path

import pytest

from frame3d import load
from frame3d.fit.budget.chance import frame_chance
from frame3d.fit.budget.errors import shop_spreads
from frame3d.fit.budget.simulate import targets_of
from frame3d.shop.care import WANTED
from frame3d.shop.pages import shop_pages
from frame3d.surfaces.cope import copes_of

PAIR = Path(__file__).parents[3] / "examples" / "two-tubes" / "job.toml"


@pytest.mark.parametrize("name", ["tilt", "centring"])
def test_a_shop_as_near_as_the_page_says_closes_19_of_20(name: str) -> None:
    frame = load(PAIR)
    pages, _, _ = shop_pages(frame)
    (care,) = (care for tube in pages.tubes for care in tube.care)
    within = {"tilt": care.tilt_within, "centring": care.centring_within}[name]
    assert within is not None
    spreads = shop_spreads({name: within / 2})
    found = frame_chance(frame, targets_of(copes_of(frame)), spreads, 10_000, 5)
    assert found.chance.value == pytest.approx(WANTED, abs=0.02)


def test_a_careless_shop_is_told_to_be_nearer() -> None:
    frame = load(PAIR)
    careless = replace(frame, shop=replace(frame.shop, errors=(("tilt", 0.6), ("run-out", 0.3))))
    plain, _, _ = shop_pages(frame)
    strict, _, _ = shop_pages(careless)
    (before,) = (care for tube in plain.tubes for care in tube.care)
    (after,) = (care for tube in strict.tubes for care in tube.care)
    assert before.centring_within is not None
    assert after.centring_within is None or after.centring_within < before.centring_within
