"""Sound orders in inches are not taken for another unit."""

from sawready.catalogue.load import Catalogue
from sawready.pipeline import check_order


def test_a_wide_joint_in_inches_is_no_slip_of_unit():
    """A survey and its frame scaled together agree as before; only the gap would shrink with them."""
    order = {
        "order_ref": "I-1",
        "system": "demo70",
        "rulebook": "england",
        "units": "in",
        "viewed_from": "outside",
        "openings": [
            {
                "opening_ref": "W1",
                "widths": ["93.625"],
                "heights": ["75.4375"],
                "frame": {"width": "93", "height": "74.4375"},
                "layout": "fixed | fixed",
                "colour": {"outside": "white"},
                "glazing": {"unit": "4-20-4"},
            }
        ],
    }
    (opening,) = check_order(order, catalogue=Catalogue.load_builtin()).openings
    assert opening.decision == "queried"
    assert "reading-unit-slip" not in {found.reason for found in opening.findings}
