"""A glass unit: panes and cavities, outside first."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class GlassUnit:
    """A glass unit as written, outside pane first.

    A laminated pane counts with its whole thickness, interlayer included (6.8 for 6 mm of glass and two
    0.38 mm layers): that is what the bead has to hold. Where its mass is taken at the density of glass it
    comes out up to 8 % heavy, on the safe side for hinges and hands;
    ``calc.glass_mass.laminated_mass_kg_m2`` gives it without that margin.

    Attributes:
        text: the make-up in one spelling, ``4-20-4``, whatever way it was written; it reads back to the
            same unit (a thick single pane keeps its word: ``single 12``).
        panes_mm: thickness of each pane, outside first. [mm]
        cavities_mm: width of each cavity, outside first; none for a single pane. [mm]
        thickness_mm: of the whole unit. [mm]
        glass_mm: of all panes together. [mm]
    """

    text: str
    panes_mm: tuple[Fraction, ...]
    cavities_mm: tuple[Fraction, ...]
    thickness_mm: Fraction
    glass_mm: Fraction

    def __hash__(self) -> int:
        """That of its text, which reads back to the same unit: look-ups by unit are many, fractions slow."""
        return hash(self.text)
