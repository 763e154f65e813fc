"""Makes the README's pictures from the sample orders: ``python -m sawready.pictures [--check]``.

Each is an opening as the program draws it, so that a picture never shows what the program does not do.
"""

import argparse
import sys
from collections.abc import Iterator, Sequence
from io import BytesIO
from pathlib import Path
from typing import Final, NamedTuple

from sawready.catalogue.load import Catalogue
from sawready.model.order import View
from sawready.pipeline import check_order
from sawready.readers.column_map import load_column_map
from sawready.readers.orders import kind_of, read_orders
from sawready.readers.raw import RawOrder
from sawready.report.drawing import DrawingStyle
from sawready.report.drawing_svg import drawing_svg
from sawready.report.order_places import order_view
from sawready.report.order_view import OpeningView

ROOT: Final = Path(__file__).resolve().parents[2]
SAMPLES: Final = ROOT / "sample_orders"
FOLDER: Final = SAMPLES / "pictures"


class Picture(NamedTuple):
    """One picture: its file, and the opening that it shows.

    Attributes:
        name: of the file, without its end.
        file: sample that the opening stands in.
        order_ref, opening_ref: which opening.
        view: the side that it is seen from.
    """

    name: str
    file: str
    order_ref: str
    opening_ref: str
    view: View = "outside"


PICTURES: Final = (
    Picture("accepted_outside", "01_lantern_street.csv", "LS-1041", "W1"),
    Picture("accepted_inside", "01_lantern_street.csv", "LS-1041", "W1", "inside"),
    Picture("rejected", "02_harbour_terrace.csv", "HT-14", "K1"),
)
"""What the README shows."""


def pictures() -> Iterator[tuple[Path, str]]:
    """The file and the content of each picture.

    Raises: LookupError for an opening that the samples do not hold.
    """
    for picture in PICTURES:
        yield FOLDER / f"{picture.name}.svg", drawing_svg(_opening(picture), DrawingStyle(picture.view))


def _opening(picture: Picture) -> OpeningView:
    path = SAMPLES / picture.file
    map_path = path.with_suffix(".columns.yaml")
    column_map = load_column_map(map_path.read_bytes(), name=map_path.name) if map_path.exists() else None
    kind = kind_of(path.name)
    if kind is None:
        raise LookupError(f"{picture.file} is of no kind that is read")
    stream = BytesIO(path.read_bytes())
    for raw in read_orders(stream, kind=kind, source=picture.file, column_map=column_map):
        if not isinstance(raw, RawOrder) or raw.data.get("order_ref") != picture.order_ref:
            continue
        result = check_order(raw.data, catalogue=Catalogue.load_builtin(), problems=raw.problems)
        for opening in order_view(result).openings:
            if opening.opening_ref == picture.opening_ref:
                return opening
    raise LookupError(f"{picture.file} has no opening {picture.opening_ref} of {picture.order_ref}")


def main(arguments: Sequence[str] | None = None) -> int:
    """Writes the pictures, or says which are not up to date. Returns: exit status, 1 where some are not."""
    parser = argparse.ArgumentParser(
        prog="python -m sawready.pictures", description="Makes the README's pictures."
    )
    parser.add_argument(
        "--check", action="store_true", help="write nothing; fail where one is not up to date"
    )
    is_check = parser.parse_args(arguments).check
    stale = 0
    for path, content in pictures():
        if is_check:
            if not path.exists() or path.read_text("utf-8") != content:
                sys.stdout.write(f"{path.relative_to(ROOT)} is stale: run python -m sawready.pictures\n")
                stale += 1
            continue
        path.parent.mkdir(exist_ok=True)
        path.write_text(content, "utf-8", newline="\n")
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main())
