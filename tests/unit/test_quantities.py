"""Lengths as builders write them come out in millimetres, by the inch of exactly 25.4 mm."""

import pytest

from frame3d.quantities import parse_length


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        (28.6, 28.6),
        (3, 3.0),
        (-12.5, -12.5),
        ("28.6 mm", 28.6),
        ("28.6mm", 28.6),
        ("2.86 cm", 28.6),
        ("0.0286 m", 28.6),
        ("1 1/8 in", 28.575),
        ("1-1/8 in", 28.575),
        ('1 1/8"', 28.575),
        ("7/8 in", 22.225),
        ("0.035 in", 0.889),
        (".035 IN", 0.889),
        ("1 inch", 25.4),
        ("-1/2 in", -12.7),
        ("  31.8   mm ", 31.8),
    ],
)
def test_a_length_is_read_in_mm(written: object, mm: float) -> None:
    assert parse_length(written) == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize("written", ["28.6", "1 1/8", "5 furlongs", "1/8/2 in", "1e3 mm", "", "mm"])
def test_a_text_that_is_no_length_says_what_is_expected(written: str) -> None:
    with pytest.raises(ValueError, match="expected"):
        parse_length(written)
