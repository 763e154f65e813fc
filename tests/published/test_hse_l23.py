"""HSE L23 (2016) and INDG143 rev 4 (2020), manual handling: the lifting filter, which is no legal limit."""

import pytest

from sawready.calc.handling import handling_verdict
from sawready.catalogue.physics import physics


@pytest.mark.parametrize(
    ("mass", "group", "reduction", "after", "closer_look"),
    [
        pytest.param(30.0, "men", 0.0, 25.0, True, id="MH-001"),
        pytest.param(24.0, "men", 0.0, 25.0, False, id="MH-002"),
        pytest.param(17.0, "women", 0, 16.0, True, id="MH-003"),
        pytest.param(19.0, "men", 0.3, 17.5, True, id="MH-004"),
    ],
)
def test_lifting_close_to_the_body_between_elbow_and_knuckle(
    mass: float, group: str, reduction: float, after: float, closer_look: bool
) -> None:
    (filter_kg,) = (
        row["close_kg"]
        for row in physics().figures["lifting.filters"].rows
        if row["group"] == group and row["zone"] == "knuckle_to_elbow"
    )
    found = handling_verdict(mass_kg=mass, filter_kg=float(filter_kg), reduction=reduction)
    assert found.filter_kg == pytest.approx(after, abs=0.01)
    assert found.needs_assessment is closer_look
