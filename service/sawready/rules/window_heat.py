"""Heat of a window as ordered: from its geometry and its glass to its transmittance."""

from fractions import Fraction
from functools import lru_cache
from typing import Final

from sawready.calc.glazing_u import Gap, gas_mix, glass_u, single_pane_u_w_m2k
from sawready.calc.plan import NM, Plan, Ref, compile_plan
from sawready.calc.thermal import WindowU, lights_u
from sawready.catalogue.physics import physics
from sawready.catalogue.profiles import ProfileSystem
from sawready.model.glass_unit import GlassUnit
from sawready.model.layout import Division, Light
from sawready.rules.registry import known
from sawready.sizing import Sized

_MM_PER_M: Final = 1000
_NM_PER_M: Final = NM * _MM_PER_M


@lru_cache(maxsize=4096)
def panes_of(plan: Plan, system: ProfileSystem) -> tuple[tuple[Ref, Ref, int], ...]:
    """Daylight of each light, and what its sash takes off it both ways, in the plan's own unit."""
    sash = system.sash
    inset = 0 if sash is None else int(2 * (sash.face_mm - sash.overlap_mm) * NM * plan.denominator)
    return tuple((*light.daylight, 0 if light.sash is None else inset) for light in plan.lights)


def visible_glass_m(plan: Plan, values: list[int], system: ProfileSystem) -> list[tuple[float, float]]:
    """Visible width and height of the glass of each light, by the sight lines of frame, sash and dividers.

    Args:
        plan: the plan of the window.
        values: of its forms.
        system: its profile system.
    Returns: one pair a light, in the plan's order. [m, m]
    """
    scale = plan.denominator * _NM_PER_M
    return [
        ((values[width] - inset) / scale, (values[height] - inset) / scale)
        for width, height, inset in panes_of(plan, system)
    ]


def quick_u_w_m2k(ctx: Sized, u_g_w_m2k: float) -> float | None:
    """Transmittance of an opening's window without its parts, for a first look.

    Args:
        ctx: an opening whose lights and heat figures are known.
        u_g_w_m2k: transmittance of the glass unit. [W/m2K]
    Returns: U; None where some light has no glass at all. [W/m2K]
    """
    plan, system, values = known(ctx.plan), known(ctx.system), ctx.values
    area = edge = 0
    for wide, high, inset in panes_of(plan, system):
        pane_width, pane_height = values[wide] - inset, values[high] - inset
        if pane_width <= 0 or pane_height <= 0:
            return None
        area += pane_width * pane_height
        edge += pane_width + pane_height
    scale = plan.denominator * _NM_PER_M
    whole = known(ctx.width).size_nm * known(ctx.height).size_nm / _NM_PER_M**2
    glass = area / scale**2
    thermal = known(system.thermal)
    loss = glass * u_g_w_m2k + (whole - glass) * thermal.u_f_w_m2k
    return (loss + 2 * edge / scale * thermal.psi_g_w_mk) / whole


def window_u_of(ctx: Sized, u_g_w_m2k: float) -> WindowU | None:
    """Transmittance of an opening's window from its own geometry, with its parts.

    Extenders and sill are left out; a vent in the frame counts as frame.

    Args:
        ctx: an opening whose lights and heat figures are known.
        u_g_w_m2k: transmittance of the glass unit. [W/m2K]
    Returns: the transmittance; None where some light has no glass at all.
    Source: EN ISO 10077-1 by ``calc.thermal.lights_u``.
    """
    size = (known(ctx.width).size_nm, known(ctx.height).size_nm)
    return window_u_at(known(ctx.plan), known(ctx.system), size, ctx.places_nm, u_g_w_m2k)


@lru_cache(maxsize=4096)
def window_u_at(
    plan: Plan, system: ProfileSystem, size_nm: tuple[int, int], places_nm: tuple[int, ...], u_g_w_m2k: float
) -> WindowU | None:
    """Transmittance of a plan at one size; windows repeat, so it is kept.

    Args:
        plan: the plan of the window.
        system: its profile system, with heat figures.
        size_nm: width and height of the frame. [nm]
        places_nm: stated places of its dividers. [nm]
        u_g_w_m2k: transmittance of the glass unit. [W/m2K]
    Returns: the transmittance; None where some light has no glass.
    Source: EN ISO 10077-1 by ``calc.thermal.lights_u``.
    """
    width, height = size_nm
    values = plan.values(width_nm=width, height_nm=height, places_nm=places_nm)
    glass = visible_glass_m(plan, values, system)
    if any(min(pane) <= 0 for pane in glass):
        return None
    thermal = known(system.thermal)
    return lights_u(
        width_m=width / _NM_PER_M,
        height_m=height / _NM_PER_M,
        glass_sizes_m=glass,
        u_g_w_m2k=u_g_w_m2k,
        u_f_w_m2k=thermal.u_f_w_m2k,
        psi_g_w_mk=thermal.psi_g_w_mk,
    )


def glass_share(ctx: Sized) -> float:
    """Visible glass over the whole area of an opening's window.

    Args:
        ctx: an opening whose lights are known.
    Returns: the share; nought where some light has no glass at all. [-]
    """
    panes = visible_glass_m(known(ctx.plan), ctx.values, known(ctx.system))
    if any(min(pane) <= 0 for pane in panes):
        return 0.0
    glass = sum(wide * high for wide, high in panes)
    return glass * _NM_PER_M**2 / (known(ctx.width).size_nm * known(ctx.height).size_nm)


def reference_size_m() -> tuple[float, float]:
    """Width and height of the window that a declared transmittance is for. [m, m]."""
    value = physics().figures["heat.reference_window_m"].value
    assert isinstance(value, tuple)  # noqa: S101 - our own file
    return float(value[0]), float(value[1])


@lru_cache(maxsize=1024)
def reference_u_w_m2k(system: ProfileSystem, u_g_w_m2k: float) -> float | None:
    """Transmittance of the system's window of the reference size, one light opening and one fixed.

    Args:
        system: the profile system, with heat figures.
        u_g_w_m2k: transmittance of the glass unit. [W/m2K]
    Returns: U, or None where the system cannot be made so. [W/m2K]
    Source: EN 14351-1 annex E and BR 443 for size and configuration (catalogue/data/physics.yaml).
    """
    width_m, height_m = reference_size_m()
    kind = next((kind for kind in ("side-hung", "tilt-turn") if kind in system.openers), None)
    if kind is None:
        return None
    layout = Division("columns", (Light(kind, "left"), Light("fixed")), (None,))
    try:
        plan = compile_plan(layout, system, colour_class="white", bead=None)
    except ValueError:
        return None
    values = plan.values(width_nm=round(width_m * _NM_PER_M), height_nm=round(height_m * _NM_PER_M))
    return lights_u(
        width_m=width_m,
        height_m=height_m,
        glass_sizes_m=visible_glass_m(plan, values, system),
        u_g_w_m2k=u_g_w_m2k,
        u_f_w_m2k=known(system.thermal).u_f_w_m2k,
        psi_g_w_mk=known(system.thermal).psi_g_w_mk,
    ).u_w_m2k


@lru_cache(maxsize=1024)
def worked_u_g_w_m2k(unit: GlassUnit, gas: str | None, emissivity: float | None) -> float | None:
    """Transmittance of a glass unit from its make-up, for upright glass.

    One face of each cavity has the emissivity, the other is uncoated. A gas other than air fills the share
    that is usual, air the rest.

    Args:
        unit: panes and cavities.
        gas: ``air``, ``argon`` or ``krypton``.
        emissivity: corrected emissivity of the coated face in each cavity. [-]
    Returns: U of the centre of the pane; None where gas or emissivity of a cavity are not known. [W/m2K]
    Source: EN 673 by ``calc.glazing_u.glass_u``, figures from catalogue/data/physics.yaml.
    """
    known = physics()
    outside, inside, conductivity = (
        known.number(f"glass_heat.{name}") for name in ("outside_w_m2k", "inside_w_m2k", "conductivity_w_mk")
    )
    panes = [float(pane) for pane in unit.panes_mm]
    if not unit.cavities_mm:
        return single_pane_u_w_m2k(
            thickness_mm=panes[0],
            outside_w_m2k=outside,
            inside_w_m2k=inside,
            glass_conductivity_w_mk=conductivity,
        )
    if gas is None or emissivity is None:
        return None
    share = known.number("glass_heat.argon_share")
    shares = {"air": 1.0} if gas == "air" else {gas: share, "air": float(1 - Fraction(repr(share)))}
    mix = gas_mix(gases=known.gases, shares=shares)
    faces = (known.number("glass_heat.emissivity_uncoated"), emissivity)
    return glass_u(
        panes_mm=panes,
        gaps=[Gap(float(cavity), mix, faces) for cavity in unit.cavities_mm],
        outside_w_m2k=outside,
        inside_w_m2k=inside,
        glass_conductivity_w_mk=conductivity,
        mean_temperature_k=known.number("glass_heat.mean_temperature_k"),
        difference_k=known.number("glass_heat.difference_k"),
    ).u_w_m2k
