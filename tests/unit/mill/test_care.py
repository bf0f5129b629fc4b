"""The care on the mill page: set as near as told, 19 of 20 joints close."""

from dataclasses import replace
from pathlib import Path

import pytest
from test_pages import pages_of

import frame3d
from frame3d.build import Build
from frame3d.mill.setting_tolerance import ALONE, FREE, NOT_ENOUGH, TOGETHER, WANTED, Care, Caring
from frame3d.mill.setup import tube_sheet
from frame3d.model import Mill
from frame3d.paper.cut_steps import steps
from frame3d.surfaces.cope import copes_of
from frame3d.tolerance.budget import error_budget
from frame3d.tolerance.chance import SAMPLES, frame_chance
from frame3d.tolerance.setup_errors import shop_spreads
from frame3d.tolerance.simulate import targets_of

PAIR = Path(__file__).parents[3] / "examples" / "two-tubes" / "job.toml"


@pytest.mark.parametrize("name", ["tilt", "centring"])
def test_a_shop_as_near_as_the_page_says_closes_19_of_20(name: str) -> None:
    frame = frame3d.open(PAIR).frame
    pages = pages_of(PAIR)
    (care,) = (care for tube in pages.tubes for care in tube.care)
    within = {"tilt": care.tilt_within, "centring": care.centring_within}[name]
    assert within is not None
    spreads = shop_spreads({name: within})
    found = frame_chance(frame, targets_of(copes_of(frame)), spreads, 10_000, 5)
    assert found.chance.value == pytest.approx(WANTED, abs=0.02)


def test_a_careless_shop_is_told_to_be_nearer() -> None:
    frame = frame3d.open(PAIR).frame
    careless = replace(frame, shop=replace(frame.shop, errors=(("tilt", 1.2), ("run-out", 0.3))))
    plain = pages_of(PAIR)
    strict = Build(careless).pages()
    (before,) = (care for tube in plain.tubes for care in tube.care)
    (after,) = (care for tube in strict.tubes for care in tube.care)
    assert before.centring_within is not None
    assert after.centring_within is None or after.centring_within < before.centring_within


def test_the_page_tells_the_care_that_the_error_budget_tells() -> None:
    frame = frame3d.open(PAIR).frame
    copes = copes_of(frame)
    (sheet,) = (s for t in frame.tubes if (s := tube_sheet(frame, t, copes)).cuts)
    (told,) = Caring(frame, copes).of(sheet)
    spreads = shop_spreads(dict(frame.shop.errors))
    care = error_budget(frame, copes, spreads, SAMPLES, 1).joints["rail", "start"].care
    assert care is not None
    assert told.tilt_within == care.alone["tilt"].within
    assert told.centring_within == care.alone["centring"].within


CARES = {
    "alone": (Care(0.3, 0.2, ALONE, ALONE), "±0.30°: 19 of 20 close", "±0.20 mm: 19 of 20 close"),
    "together": (Care(0.3, 0.2, TOGETHER, TOGETHER), "±0.30°, with tilt and Y both as told",
                 "±0.20 mm, with tilt and Y both as told"),
    "free": (Care(None, 0.2, FREE, ALONE), "hardly opens this joint", "±0.20 mm: 19 of 20"),
    "never": (Care(None, None, NOT_ENOUGH, NOT_ENOUGH), "care here alone will not make 19 of 20",
              "care here alone will not make 19 of 20 joints close: see frame3d errors"),
}  # fmt: skip


@pytest.mark.parametrize("kind", CARES)
def test_the_page_says_what_care_is_worth(kind: str) -> None:
    care, tilt_words, centring_words = CARES[kind]
    pages = pages_of(PAIR)
    (tube,) = (tube for tube in pages.tubes if tube.sheet.cuts)
    rows = {label: note for label, _, note in steps(replace(tube, care=(care,)), 0, Mill())}
    assert tilt_words in rows["5 Tilt"]
    assert centring_words in rows["6 Y"]


def test_no_care_helps_where_something_else_opens_the_joint_and_none_is_needed_with_room() -> None:
    """By the limit alone: far under the gap of the very saw nothing is enough; a few millimetres
    above it no error of a mill matters."""
    frame = frame3d.open(PAIR).frame

    def care_at(limit: float) -> Care:
        tight = replace(frame, limits=replace(frame.limits, gap_mm=limit))
        copes = copes_of(tight)
        (sheet,) = (s for t in tight.tubes if (s := tube_sheet(tight, t, copes)).cuts)
        return Caring(tight, copes).of(sheet)[0]

    never, free = care_at(0.001), care_at(6.0)
    assert (never.care_tilt, never.care_centring) == (NOT_ENOUGH, NOT_ENOUGH)
    assert (free.care_tilt, free.care_centring) == (FREE, FREE)
    assert never.tilt_within is never.centring_within is free.tilt_within is None
