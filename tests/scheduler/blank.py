"""Cars of which nothing is known, for tests to write a few facts into."""

import numpy as np

from scheduler.duties.conditions import FLUIDS, TAGS, UNKNOWN, Fleet


def blank(n, place):
    """A fleet of ``n`` cars at one place of which nothing is known."""
    nan, unknown, no = np.full(n, np.nan), np.full(n, UNKNOWN), np.zeros(n, bool)
    return Fleet(
        place=np.zeros(n, np.int64),
        regime=unknown,
        fuel_system=unknown,
        fuel_system_assumed=no,
        model_year=nan,
        system_volts=nan,
        system_volts_assumed=no,
        stored_since=nan,
        extraction=no,
        on_stands=no,
        last_road_use=nan,
        last_engine_run=nan,
        last_full_warm=nan,
        last_moved=nan,
        last_attended=nan,
        last_inspected=nan,
        chemistry=unknown,
        capacity_ah=nan,
        battery_volts=nan,
        battery_made=nan,
        battery_installed=nan,
        drain_a=nan,
        isolated=no,
        on_maintainer=no,
        full_sg=nan,
        fuel=unknown,
        tank_litres=nan,
        tank_material=unknown,
        venting=unknown,
        fluid_type=np.full((n, len(FLUIDS)), UNKNOWN),
        fluid_changed=np.full((n, len(FLUIDS)), np.nan),
        coolant_share=nan,
        tyre_made=nan,
        placard_kpa=nan,
        tags=np.zeros((n, len(TAGS)), bool),
        places=(place,),
    )
