"""What each car's tank is: the parts that fuel events do not change, with what is assumed."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.duties.conditions import FUEL_SYSTEMS, TANK_MATERIALS, UNKNOWN, VENTINGS, Fleet
from scheduler.duties.fuel import air as fuel_air
from scheduler.physics.fuel import water
from scheduler.physics.fuel.fuels import CODES, FUELS, IS_DIESEL, UNKNOWN_FUEL
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Constant, Standing

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

ASSUMED_TANK_LITRES = Constant(50.0, "L", "a middling car's tank", Standing.POLICY, 30.0, 80.0)
FULL_SHARE = Constant(
    0.95, "1", "Chevron, Recommended Storage Practices: fill to 95 %, room to swell", Standing.PUBLISHED
)
# Vents, bore and length in m: a 6 mm hose of 300 mm, a 1 mm breather in a cap; a closed system: none.
_VENT_BORE_M, _VENT_LENGTH_M = np.array([0.006, 0.001]), np.array([0.300, 0.001])
_OPEN, _CAPPED, _SEALED = (VENTINGS.index(name) for name in ("open", "capped", "sealed"))
_DIESEL_SYSTEM = FUEL_SYSTEMS.index("diesel")
_INJECTED = FUEL_SYSTEMS.index("electronic_injection")


@dataclass(frozen=True)
class Tanks:
    """One tank a car, shape (n,); ``life_months`` (3, n) short to long, untreated at 20 °C."""

    place: Ints
    fuel: Ints
    litres: Floats
    diesel: Bools
    vented: Bools
    kind: Ints
    life_months: Floats
    vent_m3_per_day: Floats
    expansion_per_k: Floats
    density_kg_l: Floats
    glass_fibre: Bools
    assumed: Bools

    def take(self, rows: Ints) -> "Tanks":
        """The same, cut to the positions ``rows`` (k,)."""
        return Tanks(**{name: column[..., rows] for name, column in vars(self).items()})


def tanks(fleet: Fleet, place: Ints) -> Tanks:
    """Every car's tank; ``place`` (n,) are positions in the tables of ``fuel_air``."""
    fuel, venting = known_fuel(fleet), known_venting(fleet)
    diesel = IS_DIESEL[fuel]
    sealed = venting == _SEALED
    kind = np.where(diesel, fuel_air.DIESEL, np.where(sealed, fuel_air.VALVED, fuel_air.FREE_VENT))
    vents = np.append(water.diffusion_m3_per_day(_VENT_BORE_M, _VENT_LENGTH_M), 0.0)
    return Tanks(
        place=place,
        fuel=fuel,
        diesel=diesel,
        vented=~sealed,
        kind=kind,
        litres=np.where(fleet.tank_litres > 0, fleet.tank_litres, ASSUMED_TANK_LITRES.value),
        life_months=_life_months(fleet, fuel, venting),
        vent_m3_per_day=vents[venting],
        expansion_per_k=at(FUELS, fuel, "expansion_per_k")[1],
        density_kg_l=at(FUELS, fuel, "density_kg_l"),
        glass_fibre=fleet.tank_material == TANK_MATERIALS.index("grp"),
        assumed=(fleet.fuel == UNKNOWN) | (fleet.venting == UNKNOWN) | ~(fleet.tank_litres > 0),
    )


def known_fuel(fleet: Fleet) -> Ints:
    """The fuel recorded (n,), else B7 for a diesel, else petrol of unknown grade where petrol is sure."""
    petrol_sure = fleet.fuel_system != UNKNOWN
    guess = np.where(petrol_sure, CODES["petrol"], UNKNOWN_FUEL)
    guess = np.where(fleet.fuel_system == _DIESEL_SYSTEM, CODES["diesel_b7"], guess)
    return np.where(fleet.fuel == UNKNOWN, guess, fleet.fuel)


def known_venting(fleet: Fleet) -> Ints:
    """The venting recorded (n,), else closed for electronic injection, else a vented cap."""
    guess = np.where(fleet.fuel_system == _INJECTED, _SEALED, _CAPPED)
    return np.where(fleet.venting == UNKNOWN, guess, fleet.venting)


def _life_months(fleet: Fleet, fuel: Ints, venting: Ints) -> Floats:
    """(3, n), shortest first. Fuel guessed from a fuel system that is itself only assumed may also be what is
    taken where nothing is known."""
    guessed = (fleet.fuel == UNKNOWN) & fleet.fuel_system_assumed
    life = _by_venting(fleet, fuel, venting)
    other = _by_venting(fleet, np.where(guessed, UNKNOWN_FUEL, fuel), venting)
    return np.stack([np.minimum(life[0], other[0]), life[1], np.maximum(life[2], other[2])])


def _by_venting(fleet: Fleet, fuel: Ints, venting: Ints) -> Floats:
    """(3, n): by venting; where that is not recorded, from the open tank's low to the closed one's high."""
    lives = np.stack([at(FUELS, fuel, f"life_{name}") for name in VENTINGS])
    life = lives[venting, :, np.arange(len(fuel))].T
    unknown = fleet.venting == UNKNOWN
    life[0] = np.where(unknown, lives[_OPEN, 0], life[0])
    life[2] = np.where(unknown, lives[_SEALED, 2], life[2])
    return np.asarray(life)
