"""Alcohol in the air: what evaporates, what the room then holds, and the cautions for it.

Source: NIOSH Pocket Guide, isopropyl alcohol. Local rules and the dye's safety data sheet come
first.
"""

from __future__ import annotations

from dataclasses import dataclass

from data import read_table
from data.rules import Caution, check_number

_ALCOHOL = read_table("constants")["isopropyl alcohol"]
DENSITY = _ALCOHOL["density"].value
EVAPORATION_RATE = _ALCOHOL["evaporation_rate"].value
LONG_LIMIT_PPM = _ALCOHOL["exposure_limit_8_hours"].value * 1e6
SHORT_LIMIT_PPM = _ALCOHOL["exposure_limit_short"].value * 1e6


@dataclass(frozen=True, kw_only=True)
class OpenJar:
    """A mix that stood open.

    ``alcohol_lost`` [m3] and its spread ``lost_low`` to ``lost_high`` (one standard deviation
    each side), what is left as ``volume`` [m3] and ``share`` of dye, and what to keep in mind.
    """

    alcohol_lost: float
    lost_low: float
    lost_high: float
    volume: float
    share: float
    cautions: tuple[Caution, ...]


def evaporation(
    volume: float,
    share: float,
    open_area: float,
    time: float,
    rate: float = EVAPORATION_RATE,
) -> OpenJar:
    """Return what is left of a mix in an open jar: less of it, and stronger.

    Parameters
    ----------
    volume : float
        Mix in the jar. [m3]
    share : float
        Volume share of dye, which stays.
    open_area : float
        Mouth of the jar. [m2]
    time : float
        How long it stood open. [s]
    rate : float
        Loss in still air, an estimate; a draught takes more. [kg/(m2 s)]

    Notes
    -----
    No more can go than there is alcohol; the carrier of the dye itself is not counted.
    Pouring ``alcohol_lost`` back restores the mix.
    """
    filled = check_number("volume", volume, above=0.0, most=0.1, unit="m3")
    dye = check_number("share", share, least=0.0, most=1.0)
    mouth = check_number("open area", open_area, least=0.0, most=1.0, unit="m2")
    stood = check_number("time", time, least=0.0, most=1e8, unit="s")
    speed = check_number("evaporation rate", rate, least=0.0, most=0.1, unit="kg/(m2 s)")
    row = _ALCOHOL["evaporation_rate"]
    alcohol = filled * (1 - dye)
    meant = speed * mouth * stood / DENSITY
    lost, low, high = (
        min(meant * factor, alcohol) for factor in (1, row.low / row.value, row.high / row.value)
    )
    left = filled - lost
    cautions = []
    if lost > 0.02 * filled:
        text = f"The mix lost {lost / filled:.0%} of its volume and is stronger: add alcohol."
        cautions.append(Caution(key="stronger", text=text))
    if 0 < alcohol <= meant:
        text = "All alcohol is gone: mix anew."
        cautions.append(Caution(key="dried out", text=text))
    return OpenJar(
        alcohol_lost=lost,
        lost_low=low,
        lost_high=high,
        volume=left,
        share=dye * filled / left if left > 0 else dye,
        cautions=tuple(cautions),
    )


def vapour_ppm(volume: float, room_volume: float) -> float:
    """Return the vapour in a closed room when so much alcohol has evaporated in it. [ppm]

    Parameters
    ----------
    volume : float
        Alcohol. [m3]
    room_volume : float
        Air in the room, no air change. [m3]

    Notes
    -----
    Mass in mg over m3 and 2.46 mg/m3 per ppm. 10 mL in 30 m3 give 106 ppm.
    """
    liquid = check_number("volume", volume, least=0.0, most=0.1, unit="m3")
    room = check_number("room volume", room_volume, least=1.0, most=1e5, unit="m3")
    return liquid * DENSITY * 1e6 / room / _ALCOHOL["vapour_per_ppm"].value


def vapour_cautions(volume: float, room_volume: float) -> tuple[Caution, ...]:
    """Return what to say beside the mixing step: always about fire, and about air by amount."""
    ppm = vapour_ppm(volume, room_volume)
    text = f"If all of it evaporates in the closed room: {ppm:.0f} ppm of alcohol in the air"
    against = f"limits {LONG_LIMIT_PPM:.0f} ppm over 8 hours, {SHORT_LIMIT_PPM:.0f} ppm short-term"
    if ppm > SHORT_LIMIT_PPM:
        air = Caution(
            key="air above short limit", text=f"{text}, too much ({against}). Work outside."
        )
    elif ppm > LONG_LIMIT_PPM:
        air = Caution(key="air above long limit", text=f"{text}, too much for a day ({against}).")
    else:
        air = Caution(key="air", text=f"{text} ({against}). Open a window.")
    return (fire_caution(), air)


def fire_caution() -> Caution:
    """Return the caution about fire that belongs beside every mixing step."""
    flash, lowest = _ALCOHOL["flash_point"].value, _ALCOHOL["lower_limit"].value
    over_jar = _ALCOHOL["saturated_vapour"].value
    text = (
        f"Isopropyl alcohol burns: flash point {flash:.1f} °C. Over an open jar at 20 °C its "
        f"vapour is {over_jar:.1%} of the air, above the {lowest:.1%} that can ignite. No flame, "
        "heat gun or hot nozzle near it; gloves, eye protection, open window; dry rags outdoors. "
        "Local rules and the dye's safety data sheet come first."
    )
    return Caution(key="fire", text=text)
