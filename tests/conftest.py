"""What all tests may ask for."""

import judges
import pytest


@pytest.fixture(name="need")
def _need() -> object:
    return judges.need
