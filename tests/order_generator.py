"""Seeded sheets of realistic orders for benchmarks and batch tests; every name in them is invented.

Sizes repeat within an order as they do in a street of houses, most openings are sound, and about three
in a hundred carry a fault of one of the families that a survey brings.
"""

import csv
import io
import random
from collections.abc import Iterator
from typing import Any

COLUMNS = (
    "order_ref", "system", "rulebook", "units", "viewed_from", "survey_date", "surveyor", "opening_ref",
    "quantity", "room", "storey", "floor_to_sill", "measured_to", "width_top", "width_middle", "width_bottom",
    "height_left", "height_middle", "height_right", "diagonal_1", "diagonal_2", "sill_projection", "sill_fit",
    "sill_horn_left", "sill_horn_right", "set_back", "layout", "colour_outside", "colour_inside", "glazing_unit",
    "glazing_safety", "frame_width", "frame_height", "height_includes_sill",
)  # fmt: skip

LAYOUTS = {
    "demo70": (
        ("fixed", 400, 1500),
        ("top-hung", 500, 1200),
        ("side-hung left", 450, 780),
        ("side-hung left | fixed", 1000, 1500),
        ("fixed | side-hung right", 1000, 1500),
        ("side-hung left | fixed | side-hung right", 1500, 2300),
        ("top-hung / fixed", 500, 1200),
        ("(top-hung / fixed) | side-hung left", 1000, 1500),
        ("top-hung | top-hung / fixed | fixed", 1000, 1900),
        ("fixed /@400 fixed | fixed", 900, 1900),
    ),
    "demo82-inward": (
        ("tilt-turn left", 700, 1300),
        ("tilt-turn right", 700, 1300),
        ("fixed | tilt-turn right", 1300, 2300),
        ("tilt-turn left | tilt-turn right", 1300, 2300),
    ),
}
"""Layouts that each system is made in, with the least and greatest frame width that suits them. [mm]"""

SILLS = {"demo70": 150, "demo82-inward": 165}
UPSTANDS = {"demo70": 30, "demo82-inward": 35}
UNITS = {"demo70": ("4-20-4", "4-16-4", "6.8-14-4"), "demo82-inward": ("4-16-4-16-4", "4-20-4")}
ROOMS = ("kitchen", "bedroom", "bathroom", "living room", "landing", "study")


def openings(count: int, *, seed: int = 1, fault_share: float = 0.03) -> Iterator[dict[str, Any]]:
    """Rows of openings, one a dict by column name.

    Args:
        count: how many.
        seed: the same seed gives the same rows.
        fault_share: share of openings that carry a planted fault.
    """
    rng = random.Random(seed)
    order = 0
    made = 0
    while made < count:
        order += 1
        system = "demo70" if rng.random() < 0.8 else "demo82-inward"
        colour = rng.choice(("white", "white", "white", "anthracite grey", "oak"))
        kinds = []
        for _ in range(rng.randint(1, 3)):
            layout, least, most = rng.choice(LAYOUTS[system])
            kinds.append((layout, rng.randrange(least, most), rng.randrange(950, 1300)))
        for number in range(1, min(rng.randint(3, 12), count - made) + 1):
            layout, width, height = rng.choice(kinds)
            ref = f"GEN-{seed}-{order:06d}"
            yield _opening(rng, ref, f"W{number}", system, colour, layout, width, height, fault_share)
            made += 1


def _opening(
    rng: random.Random,
    order: str,
    ref: str,
    system: str,
    colour: str,
    layout: str,
    width: int,
    height: int,
    fault_share: float,
) -> dict[str, Any]:
    widths = [width + rng.randint(-2, 2) for _ in range(3)]
    heights = [height + rng.randint(-2, 2) for _ in range(3)]
    diagonal = round(((sum(widths) / 3) ** 2 + (sum(heights) / 3) ** 2) ** 0.5)
    row: dict[str, Any] = dict.fromkeys(COLUMNS, "")
    row |= {
        "order_ref": order, "system": system, "rulebook": "england", "units": "mm", "viewed_from": "outside",
        "survey_date": "2026-10-05", "surveyor": "KM", "opening_ref": ref, "quantity": rng.choice((1, 1, 1, 2)),
        "room": rng.choice(ROOMS), "storey": rng.randint(0, 2), "floor_to_sill": rng.randrange(850, 1100, 10),
        "measured_to": "brick", "width_top": widths[0], "width_middle": widths[1], "width_bottom": widths[2],
        "height_left": heights[0], "height_middle": heights[1], "height_right": heights[2],
        "diagonal_1": diagonal + rng.randint(-1, 1), "diagonal_2": diagonal + rng.randint(-1, 1),
        "layout": layout, "colour_outside": colour, "colour_inside": "white",
        "glazing_unit": rng.choice(UNITS[system]), "glazing_safety": "toughened" if rng.random() < 0.3 else "",
    }  # fmt: skip
    if rng.random() < 0.7:
        row |= {
            "sill_projection": SILLS[system],
            "sill_fit": "horns_into_wall",
            "sill_horn_left": 50,
            "sill_horn_right": 50,
            "set_back": 40,
        }
    if rng.random() < 0.3:
        upstand = UPSTANDS[system] if row["sill_projection"] else 0
        row |= {
            "frame_width": min(widths) - 16,
            "frame_height": min(heights) - 16 - upstand,
            "height_includes_sill": "no",
        }
    if rng.random() < fault_share:
        _spoil(rng, row)
    return row


def _spoil(rng: random.Random, row: dict[str, Any]) -> None:
    """Plants one fault."""
    match rng.randrange(9):
        case 0:
            row["width_middle"] = str(row["width_middle"]).replace("1", "l", 1) + "?"
        case 1:
            row["frame_width"] = row["width_top"] + 4
        case 2:
            row["height_middle"] = row["height_middle"] - 100
        case 3:
            row["layout"] = row["layout"].replace("-", " ") + " left"
        case 4:
            row["glazing_unit"] = "4-22-4"
        case 5:
            row["sill_projection"] = 199
        case 6:
            row |= {"sill_projection": SILLS[row["system"]], "sill_fit": "between_reveals", "set_back": 140}
        case 7:
            row["opening_ref"] = ""
        case _:
            row["diagonal_1"] = row["diagonal_1"] + 30


def sheet(count: int, *, seed: int = 1, fault_share: float = 0.03) -> bytes:
    """A sheet in our own columns.

    Args:
        count: how many openings.
        seed: the same seed gives the same bytes.
        fault_share: share of openings that carry a planted fault.
    """
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(openings(count, seed=seed, fault_share=fault_share))
    return text.getvalue().encode()
