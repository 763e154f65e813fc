"""Thermal transmittance of whole windows and doors from their parts (EN ISO 10077-1)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sawready.calc.exact import above_zero, not_below_zero, share_of_one


@dataclass(frozen=True, slots=True)
class AreaPart:
    """A part that loses heat through its face: glass, panel or frame. Area [m2], U [W/m2K]."""

    area_m2: float
    u_w_m2k: float


@dataclass(frozen=True, slots=True)
class EdgePart:
    """An edge of glass or panel with its extra loss. Visible length [m], psi [W/mK]."""

    length_m: float
    psi_w_mk: float


@dataclass(frozen=True, slots=True)
class WindowU:
    """Transmittance of a whole window with the parts that make it; nothing is rounded.

    Attributes:
        u_w_m2k: transmittance of the whole. [W/m2K]
        area_m2: glass, panels and frame together. [m2]
        glass_area_m2, panel_area_m2, frame_area_m2: visible areas. [m2]
        glass_edge_m, panel_edge_m: visible lengths of the edges. [m]
        glass_loss_w_k, panel_loss_w_k, frame_loss_w_k, edge_loss_w_k: shares of the heat loss. [W/K]
    """

    u_w_m2k: float
    area_m2: float
    glass_area_m2: float
    panel_area_m2: float
    frame_area_m2: float
    glass_edge_m: float
    panel_edge_m: float
    glass_loss_w_k: float
    panel_loss_w_k: float
    frame_loss_w_k: float
    edge_loss_w_k: float


@dataclass(frozen=True, slots=True)
class AverageU:
    """Area-weighted mean of several elements. Area [m2], loss [W/K], U [W/m2K]."""

    u_w_m2k: float
    area_m2: float
    loss_w_k: float


def window_u(
    *,
    glass: Sequence[AreaPart],
    frame: Sequence[AreaPart],
    glass_edges: Sequence[EdgePart] = (),
    panels: Sequence[AreaPart] = (),
    panel_edges: Sequence[EdgePart] = (),
) -> WindowU:
    """Transmittance of a window, or of a door leaf with panels, from all of its parts.

    Areas are the visible ones: glass by the smaller daylight seen from either face, frame by the larger
    projected area, glass inside the rebate not counted. Shutters and ventilators are left out.

    Formula: U = (sum Ag Ug + sum Ap Up + sum Af Uf + sum lg psi_g + sum lp psi_p) / (sum Ag + Ap + Af)

    Args:
        glass: visible areas of glass with their centre-pane U. [m2, W/m2K]
        frame: projected areas of frame, sash and dividers with their U. [m2, W/m2K]
        glass_edges: visible perimeters of the glass with the edge loss of their spacer. [m, W/mK]
        panels: visible areas of opaque panels. [m2, W/m2K]
        panel_edges: visible perimeters of the panels. [m, W/mK]
    Returns: the transmittance with its parts.
    Raises: ValueError if an area, a length or a transmittance is below zero, or the whole area is zero.
    Example:
        >>> window_u(
        ...     glass=[AreaPart(1.2726, 1.1)],
        ...     frame=[AreaPart(0.5478, 1.4)],
        ...     glass_edges=[EdgePart(4.54, 0.05)],
        ... ).u_w_m2k
        1.315

    Source: EN ISO 10077-1:2017, 6.4.2 (the door form is 6.4.2.3, clause number from memory); areas by
    6.3.1, from memory. Checked in tests/published/test_iso_10077_1.py.
    """
    for part in (*glass, *panels, *frame):
        not_below_zero(area_m2=part.area_m2, u_w_m2k=part.u_w_m2k)
    for edge in (*glass_edges, *panel_edges):
        not_below_zero(length_m=edge.length_m, psi_w_mk=edge.psi_w_mk)
    glass_area, panel_area, frame_area = _area(glass), _area(panels), _area(frame)
    area = glass_area + panel_area + frame_area
    above_zero(area_m2=area)
    glass_loss, panel_loss, frame_loss = _loss(glass), _loss(panels), _loss(frame)
    edge_loss = math.fsum(edge.length_m * edge.psi_w_mk for edge in (*glass_edges, *panel_edges))
    return WindowU(
        u_w_m2k=(glass_loss + panel_loss + frame_loss + edge_loss) / area,
        area_m2=area,
        glass_area_m2=glass_area,
        panel_area_m2=panel_area,
        frame_area_m2=frame_area,
        glass_edge_m=math.fsum(edge.length_m for edge in glass_edges),
        panel_edge_m=math.fsum(edge.length_m for edge in panel_edges),
        glass_loss_w_k=glass_loss,
        panel_loss_w_k=panel_loss,
        frame_loss_w_k=frame_loss,
        edge_loss_w_k=edge_loss,
    )


def lights_u(
    *,
    width_m: float,
    height_m: float,
    glass_sizes_m: Sequence[tuple[float, float]],
    u_g_w_m2k: float,
    u_f_w_m2k: float,
    psi_g_w_mk: float,
) -> WindowU:
    """Transmittance of a window of any layout: what is not glass is frame.

    One glass, one frame value and one spacer for the whole window; where they differ use ``window_u``.

    Formula: Ag = sum w h, lg = sum 2 (w + h), Af = W H - Ag, then as ``window_u``

    Args:
        width_m: of the whole frame, W. [m]
        height_m: of the whole frame, H. [m]
        glass_sizes_m: visible width and height of each pane. [m]
        u_g_w_m2k: of the glass, centre of pane. [W/m2K]
        u_f_w_m2k: of the frame. [W/m2K]
        psi_g_w_mk: of the glass edge. [W/mK]
    Returns: the transmittance with its parts.
    Raises: ValueError if a size is not above zero, or the panes are larger than the window.
    Example:
        >>> lights_u(
        ...     width_m=1.23,
        ...     height_m=1.48,
        ...     glass_sizes_m=[(0.43, 1.28), (0.53, 1.38)],
        ...     u_g_w_m2k=1.1,
        ...     u_f_w_m2k=1.4,
        ...     psi_g_w_mk=0.05,
        ... ).u_w_m2k
        1.3876

    Source: EN ISO 10077-1:2017, 6.4.2. Checked in tests/published/test_iso_10077_1.py.
    """
    above_zero(width_m=width_m, height_m=height_m)
    for width, height in glass_sizes_m:
        above_zero(glass_width_m=width, glass_height_m=height)
    glass_area = math.fsum(width * height for width, height in glass_sizes_m)
    frame_area = width_m * height_m - glass_area
    if frame_area < 0:
        raise ValueError(f"glass of {glass_area:g} m2 does not fit in {width_m:g} x {height_m:g} m")
    perimeter = math.fsum(2 * (width + height) for width, height in glass_sizes_m)
    return window_u(
        glass=[AreaPart(glass_area, u_g_w_m2k)],
        frame=[AreaPart(frame_area, u_f_w_m2k)],
        glass_edges=[EdgePart(perimeter, psi_g_w_mk)],
    )


def single_light_u(
    *,
    width_m: float,
    height_m: float,
    sight_line_m: float,
    u_g_w_m2k: float,
    u_f_w_m2k: float,
    psi_g_w_mk: float,
) -> WindowU:
    """Transmittance of a window with one pane and the same visible frame width all round.

    Formula: pane = (W - 2 t) x (H - 2 t), then as ``lights_u``

    Args:
        width_m: of the whole frame, W. [m]
        height_m: of the whole frame, H. [m]
        sight_line_m: visible width of frame (and sash) on each side, t. [m]
        u_g_w_m2k: of the glass, centre of pane. [W/m2K]
        u_f_w_m2k: of the frame. [W/m2K]
        psi_g_w_mk: of the glass edge. [W/mK]
    Returns: the transmittance with its parts.
    Raises: ValueError if no glass is left.
    Example:
        >>> single_light_u(
        ...     width_m=1.23, height_m=1.48, sight_line_m=0.11, u_g_w_m2k=1.1, u_f_w_m2k=1.4, psi_g_w_mk=0.05
        ... ).u_w_m2k
        1.315

    Source: EN ISO 10077-1:2017, 6.4.2. Checked in tests/published/test_iso_10077_1.py.
    """
    not_below_zero(sight_line_m=sight_line_m)
    return lights_u(
        width_m=width_m,
        height_m=height_m,
        glass_sizes_m=[(width_m - 2 * sight_line_m, height_m - 2 * sight_line_m)],
        u_g_w_m2k=u_g_w_m2k,
        u_f_w_m2k=u_f_w_m2k,
        psi_g_w_mk=psi_g_w_mk,
    )


def column_glass_sizes_m(
    *,
    width_m: float,
    height_m: float,
    frame_sight_m: float,
    mullion_sight_m: float,
    sash_sights_m: Sequence[float],
    clear_widths_m: Sequence[float] | None = None,
) -> list[tuple[float, float]]:
    """Visible glass of a window of columns side by side, some fixed and some opening.

    For rows above each other give the height as width and the other way round, and turn the answer.

    Formula: h = H - 2 frame; clear widths share W - 2 frame - (n - 1) mullion; a sash takes its sight
    line off all four sides

    Args:
        width_m: of the whole frame, W. [m]
        height_m: of the whole frame, H. [m]
        frame_sight_m: visible width of the outer frame. [m]
        mullion_sight_m: visible width of each mullion. [m]
        sash_sights_m: for each column the visible width that its sash adds, 0 where fixed. [m]
        clear_widths_m: clear width of each column between frame and mullions; equal when None. [m]
    Returns: width and height of the visible glass of each column, from the left. [m]
    Raises: ValueError if the columns do not add up to the width, or a pane is left with no size.
    Example:
        >>> column_glass_sizes_m(
        ...     width_m=1.23, height_m=1.48, frame_sight_m=0.05, mullion_sight_m=0.07, sash_sights_m=[0.05, 0]
        ... )
        [(0.43, 1.28), (0.53, 1.38)]

    Source: geometry; visible areas as in EN ISO 10077-1, 6.3.1.
    """
    columns = len(sash_sights_m)
    above_zero(width_m=width_m, height_m=height_m, columns=columns)
    inside = width_m - 2 * frame_sight_m - (columns - 1) * mullion_sight_m
    widths = list(clear_widths_m) if clear_widths_m is not None else [inside / columns] * columns
    if len(widths) != columns or abs(math.fsum(widths) - inside) > 1e-9:
        raise ValueError(f"the clear widths must be {columns} and add up to {inside:g} m")
    sizes = []
    for width, sash in zip(widths, sash_sights_m, strict=True):
        pane = (width - 2 * sash, height_m - 2 * frame_sight_m - 2 * sash)
        above_zero(glass_width_m=pane[0], glass_height_m=pane[1])
        sizes.append(pane)
    return sizes


def uniform_sight_line_m(*, width_m: float, height_m: float, frame_fraction: float) -> float:
    """Visible frame width, the same on all sides, that gives a stated share of frame.

    Formula: (W - 2 t)(H - 2 t) = (1 - f) W H, so t = (W + H - sqrt((W + H)^2 - 4 f W H)) / 4

    Args:
        width_m: of the whole window, W. [m]
        height_m: of the whole window, H. [m]
        frame_fraction: frame area over whole area, f. [-]
    Returns: visible frame width t. [m]
    Raises: ValueError if a size is not above zero or the share is not between 0 and 1.
    Example:
        >>> uniform_sight_line_m(width_m=1.23, height_m=1.48, frame_fraction=0.3)
        0.1096

    Source: geometry; used with the reference size of EN 14351-1 to give EN ISO 10077-1 table values.
    """
    above_zero(width_m=width_m, height_m=height_m)
    share_of_one(frame_fraction=frame_fraction)
    both = width_m + height_m
    return (both - math.sqrt(both * both - 4 * frame_fraction * width_m * height_m)) / 4


def glass_perimeter_m(*, width_m: float, height_m: float, sight_line_m: float) -> float:
    """Visible edge of one pane inside a frame of even visible width.

    Formula: lg = 2 (W - 2 t + H - 2 t)

    Args:
        width_m: of the whole window, W. [m]
        height_m: of the whole window, H. [m]
        sight_line_m: visible frame width, t. [m]
    Returns: length of the edge lg. [m]
    Raises: ValueError if no glass is left.
    Example:
        >>> glass_perimeter_m(width_m=1.23, height_m=1.48, sight_line_m=0.1096)
        4.543

    Source: geometry.
    """
    above_zero(glass_width_m=width_m - 2 * sight_line_m, glass_height_m=height_m - 2 * sight_line_m)
    return 2 * (width_m + height_m - 4 * sight_line_m)


def area_weighted_u(*, parts: Sequence[AreaPart]) -> AverageU:
    """Mean transmittance of several elements by area, and their heat loss.

    Formula: U = sum A U / sum A

    Args:
        parts: area and transmittance of each element. [m2, W/m2K]
    Returns: mean U, whole area and heat loss.
    Raises: ValueError if there is no area.
    Example:
        >>> area_weighted_u(parts=[AreaPart(16.9, 1.5), AreaPart(3.8, 1.9), AreaPart(0.9, 1.8)]).loss_w_k
        34.19

    Source: Scottish Government, domestic technical handbook 2017, annex 6.A, table 6.6. Checked in
    tests/published/test_iso_10077_1.py.
    """
    for part in parts:
        not_below_zero(area_m2=part.area_m2, u_w_m2k=part.u_w_m2k)
    area, loss = _area(parts), _loss(parts)
    above_zero(area_m2=area)
    return AverageU(u_w_m2k=loss / area, area_m2=area, loss_w_k=loss)


def _area(parts: Sequence[AreaPart]) -> float:
    return math.fsum(part.area_m2 for part in parts)


def _loss(parts: Sequence[AreaPart]) -> float:
    return math.fsum(part.area_m2 * part.u_w_m2k for part in parts)
