"""From results and profile systems to a bar plan: whose pieces, which bars, which saw."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Any, Final, cast

from sawready.calc.nesting import BarStock, Ends, OldOffcut, Piece, Saw
from sawready.catalogue.profiles import Bead, Extender, Profile, ProfileSystem, Reinforcement, Sill
from sawready.catalogue.saw import saw_figures
from sawready.errors import SettingsError
from sawready.model.shown import plain

NM: Final = 1_000_000

UNCOLOURED: Final = frozenset({"reinforcement"})
"""Parts that are the same whatever the colour of the window."""

ColourOf = Callable[[str], str | None]
"""The colour of an opening's profiles, by its reference."""


def saw(
    *,
    kerf_mm: Fraction | None = None,
    trim_mm: Fraction | None = None,
    keep_mm: Fraction | None = None,
) -> Saw:
    """The saw as stated, and as ``data/saw.yaml`` assumes for the rest.

    Args:
        kerf_mm: thickness of the blade's cut. [mm]
        trim_mm: taken off every bar, both ends together. [mm]
        keep_mm: least offcut worth keeping. [mm]
    Raises: SettingsError for a value outside its range.
    """
    figures = saw_figures()
    stated = {"kerf_mm": kerf_mm, "trim_mm": trim_mm, "keep_mm": keep_mm}
    nm = {
        name: figures[name].nm if value is None else figures[name].stated_nm(value)
        for name, value in stated.items()
    }
    scrap_nm = min(figures["scrap_mm"].nm, nm["keep_mm"])
    return Saw(nm["kerf_mm"], nm["trim_mm"], nm["keep_mm"], scrap_nm)


def stock_for(
    profiles: Iterable[str], systems: Iterable[ProfileSystem] = (), *, bar_mm: Fraction | None = None
) -> dict[str, BarStock]:
    """Fresh bars for profiles by name.

    Args:
        profiles: names that pieces use.
        systems: profile systems that say how long their bars are.
        bar_mm: one length for every profile, over what the systems say. [mm]
    Returns: stock by name; a name that no system knows gets the bar of ``data/saw.yaml``.
    Raises: SettingsError for a length outside its range, and where two systems use one name for bars
        that differ and no length is stated.
    """
    figure = saw_figures()["bar_mm"]
    stated_nm = None if bar_mm is None else figure.stated_nm(bar_mm)
    known: dict[str, BarStock] = {}
    wanted = set(profiles)
    for system in systems:
        for name, stock in stock_of(system).items():
            if stated_nm is not None:
                stock = BarStock(stated_nm, stock.face_nm, stock.is_turnable)  # noqa: PLW2901 - as stated
            if name in wanted and known.setdefault(name, stock) != stock:
                raise SettingsError(
                    f"profile {name} has other bars in {system.name} than in another system;"
                    " plan the orders of each system apart, or state the bar length"
                )
    other = BarStock(figure.nm if stated_nm is None else stated_nm)
    return {name: known.get(name, other) for name in sorted(wanted)}


def longer_than_trim(bar_mm: Fraction | None, with_saw: Saw) -> None:
    """Refuses a stated bar that is all trim, as one in metres is.

    Args:
        bar_mm: length that was stated; None where the system's stand. [mm]
        with_saw: the saw.
    Raises: SettingsError.
    """
    if bar_mm is not None and bar_mm * NM <= with_saw.trim_nm:
        raise SettingsError(
            f"bar_mm {plain(bar_mm)} leaves nothing after {plain(Fraction(with_saw.trim_nm, NM))} mm of trim;"
            " state the bar in millimetres, such as 6000"
        )


def short_pieces(pieces: Iterable[Piece]) -> list[str]:
    """Asks whether pieces that are oddly short were stated in another unit; a sentence, or nothing.

    Example:
        >>> short_pieces([Piece("rail", 1_200_000, 2), Piece("rail", 800_000_000)])
        ['2 pieces are shorter than 100 mm, the shortest 1.2 mm of rail: are all lengths in millimetres?']
    """
    least_nm = saw_figures()["short_mm"].nm
    short = [piece for piece in pieces if piece.length_nm < least_nm]
    if not short:
        return []
    count = sum(piece.quantity for piece in short)
    first = min(short, key=lambda piece: piece.length_nm)
    place = f", line {first.cell.line}" if first.cell is not None else ""
    shortest = plain(Fraction(first.length_nm, NM))
    are = "piece is" if count == 1 else "pieces are"
    question = (
        f"{count} {are} shorter than {plain(Fraction(least_nm, NM))} mm, the shortest {shortest} mm of"
        f" {first.profile}{place}: are all lengths in millimetres?"
    )
    return [question]


def one_system(uses: Iterable[tuple[str, str]]) -> None:
    """Refuses a profile name that two systems use: bars of one are no bars of the other.

    Args:
        uses: profile and system of each piece.
    Raises: SettingsError naming profile and systems.

    Example:
        >>> one_system([("frame-62", "demo70"), ("sash-72", "demo70"), ("frame-62", "demo70")])
    """
    systems: dict[str, str] = {}
    for profile, system in uses:
        other = systems.setdefault(profile, system)
        if other != system:
            raise SettingsError(
                f"profile {profile} is one of {other} and another of {system}; plan the orders of each system"
                " apart"
            )


def idle_offcuts(pieces: Iterable[Piece], offcuts: Iterable[OldOffcut]) -> list[str]:
    """Why old offcuts cannot be used, as no piece has their profile and colour; a sentence a kind.

    Example:
        >>> idle_offcuts([Piece("rail", 1, colour="white")], [OldOffcut("rail", 1), OldOffcut("rial", 1)])
        ['1 old offcut of rail without a colour was left alone: the pieces of rail are white.',
        '1 old offcut of rial was left alone: no piece has this profile.']
    """
    colours: dict[str, set[str | None]] = {}
    for piece in pieces:
        colours.setdefault(piece.profile, set()).add(piece.colour)
    idle: dict[tuple[str, str | None], int] = {}
    for each in offcuts:
        if each.colour not in colours.get(each.profile, ()):
            idle[each.profile, each.colour] = idle.get((each.profile, each.colour), 0) + each.quantity
    found = []
    for (profile, colour), count in sorted(idle.items(), key=lambda item: (item[0][0], item[0][1] or "")):
        are = "old offcut" if count == 1 else "old offcuts"
        was = "was" if count == 1 else "were"
        if profile not in colours:
            found.append(f"{count} {are} of {profile} {was} left alone: no piece has this profile.")
            continue
        in_colour = "without a colour" if colour is None else f"in {colour}"
        wanted = sorted(each or "without a colour" for each in colours[profile])
        found.append(
            f"{count} {are} of {profile} {in_colour} {was} left alone: the pieces of {profile} are"
            f" {', '.join(wanted)}."
        )
    return found


def stock_of(system: ProfileSystem) -> dict[str, BarStock]:
    """Fresh bars of every profile of a system, by the name that cutting lists use."""
    found: dict[str, BarStock] = {}
    for profile in (system.frame, system.sash, system.mullion, system.transom):
        if profile is not None:
            found.setdefault(profile.name, _of_profile(profile))
            if profile.reinforcement is not None:
                found.setdefault(profile.reinforcement.name, _plain(profile.reinforcement))
    for bead in system.beads:
        found.setdefault(bead.name, _plain(bead))
    for sill in system.sills:
        found.setdefault(sill.name, _plain(sill))
    if system.extender is not None:
        for width_mm in system.extender.widths_mm:
            found.setdefault(f"{system.extender.name}-{plain(width_mm)}", _plain(system.extender))
    return found


def _of_profile(profile: Profile) -> BarStock:
    return BarStock(round(profile.bar_mm * NM), round(profile.face_mm * NM) or None, profile.flip)


def _plain(part: Reinforcement | Bead | Sill | Extender) -> BarStock:
    return BarStock(round(part.bar_mm * NM))


def pieces_of(
    result: Mapping[str, Any], *, at: str = "", colour_of: ColourOf | None = None
) -> Iterator[Piece]:
    """Pieces of the accepted openings of a published result, times the windows alike.

    Pieces of different colours come from different bars. The colour is taken from ``colour_of``, else
    from the opening's own ``colour`` where the result states it; where neither does, all count as one.

    Args:
        result: the published result of an order.
        at: pointer of the result in whatever holds it.
        colour_of: the colour of an opening, by its reference.
    """
    for number, opening in enumerate(result["openings"]):
        if opening["decision"] != "accepted":
            continue
        reference = opening["opening_ref"]
        colour = colour_of(reference) if colour_of is not None else _colour(opening.get("colour"))
        for of in ("pieces", "beads"):
            for place, row in enumerate(opening[of]):
                yield Piece(
                    profile=row["profile"],
                    length_nm=round(Fraction(str(row["length_mm"])) * NM),
                    quantity=opening["quantity"] or 1,
                    ends=cast("Ends", row["ends"]),
                    colour=None if row["part"] in UNCOLOURED else colour,
                    order_ref=result["order_ref"],
                    opening_ref=reference,
                    part=row["part"],
                    light=row["light"],
                    at=f"{at}/openings/{number}/{of}/{place}",
                )


def _colour(colour: Mapping[str, str] | None) -> str | None:
    """Outside and inside colour as one name."""
    if not colour:
        return None
    outside, inside = colour.get("outside"), colour.get("inside")
    return f"{outside}/{inside}" if outside and inside and inside != outside else outside or inside
