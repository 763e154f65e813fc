"""Sizes of an opening that differs from one that has been sized only in its readings and stated frame.

What does not follow from those numbers is settled once for all such openings; what does is worked out by
the same functions as in ``sizing``.
"""

from bisect import bisect_left

from sawready.calc.fit import AxisFit, Lean, axis_fit
from sawready.catalogue.figures import GapFigure, GapTable
from sawready.model.order import Opening
from sawready.order_facts import OrderFacts
from sawready.sizing import Glazing, Sides, Sized, are_dividers_inside, lean_in, sill_length_nm


class _Band:
    """A table of gaps by span, at one key."""

    __slots__ = ("_figures", "_up_to_nm")

    def __init__(self, table: GapTable, key: tuple[str, str]) -> None:
        self._figures = table.bands.get(key, ())
        self._up_to_nm = table.up_to_nm[: len(self._figures)]

    def at(self, span_nm: int) -> GapFigure | None:
        """The gap of a span; None past the table."""
        place = bisect_left(self._up_to_nm, span_nm)
        return self._figures[place] if place < len(self._figures) else None


class _Axis:
    """One axis of a frame: what its fit takes besides readings and stated size."""

    __slots__ = (
        "_extender_nm",
        "_finishes_nm",
        "_own_nm",
        "_stated_off_nm",
        "_upstand_nm",
        "gaps",
        "gaps_most",
    )

    def __init__(self, like: Sized, axis: int, gaps: _Band, gaps_most: _Band) -> None:
        opening, first = like.opening, 2 * axis
        self.gaps, self.gaps_most = gaps, gaps_most
        self._own_nm = opening.own_gap_nm[first : first + 2]
        self._extender_nm = (opening.extenders_nm[first], opening.extenders_nm[first + 1])
        self._finishes_nm = opening.to_come_nm[first] + opening.to_come_nm[first + 1]
        fit = like.height if axis else like.width
        self._upstand_nm = 0 if fit is None else fit.upstand_nm
        self._stated_off_nm = self._upstand_nm if opening.height_includes_sill else 0

    def fit(
        self, readings_nm: tuple[int, ...], stated_nm: int | None, lean: Lean | None
    ) -> tuple[AxisFit, GapFigure | None, GapFigure | None] | None:
        """The fit with the figures of its gap; None where the rulebook has none for the span.

        Args:
            readings_nm: readings of the axis. [nm]
            stated_nm: frame size that the order states. [nm]
            lean: lean that comes off this axis.
        """
        span = min(readings_nm) - self._finishes_nm
        figure = self.gaps.at(span)
        first, second = self._own_nm
        if first is None or second is None:
            if figure is None:
                return None
            first = figure.nm if first is None else first
            second = figure.nm if second is None else second
        fit = axis_fit(
            readings_nm=readings_nm,
            finishes_nm=self._finishes_nm,
            gap_nm=(first, second),
            extender_nm=self._extender_nm,
            upstand_nm=self._upstand_nm,
            lean=lean,
            stated_nm=None if stated_nm is None else stated_nm - self._stated_off_nm,
        )
        return fit, figure, self.gaps_most.at(span)


class Resizer:
    """Sizes openings that are like one that has been sized, readings and stated frame apart.

    Args:
        like: that opening, with all its sizes; every reading of it could be read.
    Raises: ValueError where it has no plan or no glass.
    """

    def __init__(self, like: Sized) -> None:
        plan, system, rulebook, glass = like.plan, like.system, like.rulebook, like.opening.glass
        if plan is None or system is None or rulebook is None or glass is None:
            raise ValueError("only an opening with all its sizes can be a pattern")
        opening = like.opening
        self._like, self._plan, self._rulebook = like, plan, rulebook
        gaps = _Band(rulebook.gaps, (system.material, opening.colour_class or ""))
        gaps_most = _Band(rulebook.gaps_most, ("", ""))
        self._width, self._height = (_Axis(like, axis, gaps, gaps_most) for axis in (0, 1))
        self._glazing = Glazing(plan, system, glass_mm=glass.glass_mm, safety=opening.safety)
        self._sides = Sides(plan, rulebook)

    def sized(self, opening: Opening, *, base: str, shared: OrderFacts) -> Sized | None:
        """Its sizes; None where these numbers lead elsewhere, and the long way has to be taken.

        Args:
            opening: as read, seen from outside, every reading of it.
            base: pointer of the opening.
            shared: what the openings of its order share.
        """
        like, plan = self._like, self._plan
        widths: tuple[int, ...] = opening.widths_nm  # type: ignore[assignment] # every reading is there
        heights: tuple[int, ...] = opening.heights_nm  # type: ignore[assignment]
        lean = None
        if like.lean is not None:
            lean = lean_in(opening, widths, heights, self._rulebook)
        is_head = opening.is_head_sloping
        across = self._width.fit(widths, opening.frame_width_nm, None if is_head else lean)
        up = self._height.fit(heights, opening.frame_height_nm, lean if is_head else None)
        if across is None or up is None:
            return None
        width, height = across[0], up[0]
        width_nm, height_nm, places_nm = width.size_nm, height.size_nm, like.places_nm
        if width_nm <= 0 or height_nm <= 0:
            return None
        values = plan.values(width_nm=width_nm, height_nm=height_nm, places_nm=places_nm)
        if places_nm and not are_dividers_inside(plan, values):
            return None
        # By place: this runs for each opening, and names cost more than some of the sums.
        return Sized(
            opening,
            like.system,
            self._rulebook,
            base,
            like.is_turned,
            like.from_defaults,
            like.missing,
            lean,
            width,
            height,
            (across[1], up[1]),
            (across[2], up[2]),
            like.sill,
            None if like.sill is None else sill_length_nm(opening, width),
            like.bead,
            plan,
            values,
            places_nm,
            self._glazing.of(values),
            self._sides(width_nm, height_nm, values),
            shared,
        )
