"""What a bar plan assumes of saw and rack where nobody states it: figures with their sources."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files
from typing import Final

from sawready.catalogue.yaml_door import load_yaml
from sawready.errors import CatalogueError, SettingsError

NM: Final = 1_000_000
"""Nanometres in a millimetre."""


@dataclass(frozen=True, slots=True)
class SawFigure:
    """One figure of ``data/saw.yaml``.

    Attributes:
        name: its key there, such as ``kerf_mm``.
        value_mm: the value that is assumed. [mm]
        least_mm: least value that is accepted in its place. [mm]
        most_mm: greatest value that is accepted in its place. [mm]
        source: where the value comes from.
        confidence: ``high``, ``medium`` or ``low``.
        note: what it means.
    """

    name: str
    value_mm: Fraction
    least_mm: Fraction
    most_mm: Fraction
    source: str
    confidence: str
    note: str

    @property
    def nm(self) -> int:
        """The value that is assumed. [nm]."""
        return round(self.value_mm * NM)

    def stated_nm(self, value_mm: Fraction) -> int:
        """A value that somebody states instead. [nm].

        Raises: SettingsError outside the range; the text names value, range and option.
        """
        if not self.least_mm <= value_mm <= self.most_mm:
            raise SettingsError(
                f"{self.name} {float(value_mm):g} is outside {float(self.least_mm):g} to"
                f" {float(self.most_mm):g} mm ({self.note}); state a value in between"
            )
        return round(value_mm * NM)


@cache
def saw_figures() -> dict[str, SawFigure]:
    """The figures by name, read once."""
    data = files("sawready.catalogue").joinpath("data", "saw.yaml").read_bytes()
    tree = load_yaml(data, name="saw.yaml", error=CatalogueError).data
    return {name: _figure(name, row) for name, row in tree.items()}


def _figure(name: str, row: dict[str, str | list[str]]) -> SawFigure:
    least, most = (Fraction(str(each)) for each in row["range"])
    return SawFigure(
        name,
        Fraction(str(row["value"])),
        least,
        most,
        str(row["source"]),
        str(row["confidence"]),
        str(row["note"]),
    )
