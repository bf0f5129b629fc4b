"""What all tests may ask for."""

import judges
import pytest
from draws import draws
from hypothesis import settings

settings.register_profile("frame3d", draws(few=30, many=100))
settings.load_profile("frame3d")


@pytest.fixture(name="need")
def _need() -> object:
    return judges.need
