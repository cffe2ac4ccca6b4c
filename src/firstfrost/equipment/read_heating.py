"""The tables of a unit file that the heating check uses."""

from __future__ import annotations

from typing import Any, Final, Literal, cast

from firstfrost.equipment.heating_settings import RATING_TEMPS_F
from firstfrost.equipment.plates import (
    Backup,
    Blower,
    Compressor,
    House,
    Maker,
    RatingPoint,
    Ratings,
    Supply,
    Targets,
    TypedAirflow,
)
from firstfrost.equipment.reader import Reader

_SAME: Final = 0.03
"""Part by which a rated COP may differ from capacity over power: both are printed rounded."""


def plates(reader: Reader, atmosphere_pa: float) -> dict[str, Any]:
    """The parts of a `Unit` from `ratings` on, by their names.

    What is wrong is left out here and noted by the reader.
    """
    return {
        "ratings": _ratings(reader),
        "targets": _targets(reader),
        "maker": _maker(reader),
        "compressor": _compressor(reader),
        "backup": _backup(reader),
        "blower": _blower(reader),
        "airflow": _airflow(reader, atmosphere_pa),
        "house": _house(reader),
        "supply": _supply(reader),
    }


def _ratings(reader: Reader) -> Ratings:
    points = {temp_f: point for temp_f in RATING_TEMPS_F if (point := _point(reader, temp_f)) is not None}
    cut_out, cut_in = reader.given_quantity("ratings.cut_out"), reader.given_quantity("ratings.cut_in")
    if cut_out is not None and cut_in is not None and cut_out > cut_in:
        reader.mistakes.append(
            f"ratings.cut_out {reader.as_given('ratings.cut_out')} is above ratings.cut_in "
            f"{reader.as_given('ratings.cut_in')}. Expected a unit that starts again warmer than it stopped. "
            "Swap the two, or look them up."
        )
    return Ratings(
        points=points,
        cooling_capacity_w=reader.given_quantity("ratings.cooling_capacity"),
        airflow_m3_s=reader.given_quantity("ratings.airflow"),
        cut_out_c=cut_out,
        cut_in_c=cut_in,
    )


def _point(reader: Reader, temp_f: int) -> RatingPoint | None:
    capacity, power, cop = (
        reader.given_quantity(f"ratings.{what}_{temp_f}") for what in ("capacity", "power", "cop")
    )
    if capacity is None:
        for what in ("power", "cop"):
            if (
                f"ratings.{what}_{temp_f}" in reader.given
                and f"ratings.capacity_{temp_f}" not in reader.given
            ):
                reader.mistakes.append(
                    f"ratings.{what}_{temp_f} is given without ratings.capacity_{temp_f}. "
                    "Expected both, of one test. Add the capacity, or leave this out."
                )
        return None
    if power is not None and cop is not None and abs(power * cop / capacity - 1.0) > _SAME:
        reader.mistakes.append(
            f"ratings.cop_{temp_f} is {reader.as_given(f'ratings.cop_{temp_f}')}, but capacity over power is "
            f"{capacity / power:.2f}. Expected them within 3 %. Check the units, or leave one of the two out."
        )
    elif power is None and cop is not None:
        power = capacity / cop
    return RatingPoint(capacity_w=capacity, power_w=power)


def _targets(reader: Reader) -> Targets:
    return Targets(
        superheat_k=reader.given_quantity("targets.superheat"),
        superheat_tolerance_k=reader.quantity("targets.superheat_tolerance"),
        subcooling_k=reader.given_quantity("targets.subcooling"),
        subcooling_tolerance_k=reader.quantity("targets.subcooling_tolerance"),
        table=reader.file("targets.table"),
    )


def _maker(reader: Reader) -> Maker:
    return Maker(
        performance=reader.file("maker.performance"),
        performance_is=cast(Literal["steady", "integrated"] | None, reader.choice("maker.performance_is")),
        blower=reader.file("maker.blower"),
    )


def _compressor(reader: Reader) -> Compressor:
    both = [key for key in ("map_superheat", "map_return_gas") if f"compressor.{key}" in reader.given]
    if len(both) == 2:
        reader.mistakes.append(
            "compressor.map_superheat and compressor.map_return_gas are both given. "
            "Expected the one at which the maker made the map. Leave the other out."
        )
    return Compressor(
        mass_flow=reader.series("compressor.mass_flow"),
        power=reader.series("compressor.power"),
        current=reader.series("compressor.current"),
        map_temperature=cast(Literal["degF", "degC"], reader.choice("compressor.map_temperature")),
        map_mass_flow=cast(Literal["lb/h", "kg/h", "kg/s", "g/s"], reader.choice("compressor.map_mass_flow")),
        map_superheat_k=reader.quantity("compressor.map_superheat"),
        map_return_gas_c=reader.given_quantity("compressor.map_return_gas"),
        displacement_m3=reader.given_quantity("compressor.displacement"),
        speed_per_s=reader.quantity("compressor.speed"),
        rated_load_current_a=reader.given_quantity("compressor.rated_load_current"),
        power_factor=reader.quantity("compressor.power_factor"),
    )


def _backup(reader: Reader) -> Backup:
    low = reader.given_quantity("backup.compressor_lockout")
    high = reader.given_quantity("backup.backup_lockout")
    if low is not None and high is not None and low > high:
        reader.mistakes.append(
            f"backup.compressor_lockout {reader.as_given('backup.compressor_lockout')} is above "
            f"backup.backup_lockout {reader.as_given('backup.backup_lockout')}: between the two nothing "
            "would heat the house. Expected the compressor's lockout below that of backup heat. Check both."
        )
    return Backup(
        stages_w=reader.series("backup.stages") or (),
        plate_voltage_v=reader.quantity("backup.plate_voltage"),
        first_delay_s=reader.given_quantity("backup.first_delay"),
        stage_delay_s=reader.given_quantity("backup.stage_delay"),
        compressor_lockout_c=low,
        backup_lockout_c=high,
    )


def _blower(reader: Reader) -> Blower:
    return Blower(
        tap=reader.choice("blower.tap"),
        power_w=reader.given_quantity("blower.power"),
        between_probes=reader.choice("blower.place") != "outside the probes",
    )


def _airflow(reader: Reader, atmosphere_pa: float) -> TypedAirflow:
    traverse, area = reader.series("airflow.traverse"), reader.given_quantity("airflow.traverse_area")
    halves = {"airflow.traverse", "airflow.traverse_area"}
    if len(halves & reader.given.keys()) == 1:
        (there,) = halves & reader.given.keys()
        (missing,) = halves - {there}
        reader.mistakes.append(
            f"{there} is given without {missing}. Expected both: the mean velocity times the area is the "
            f"airflow. Add {missing}."
        )
    return TypedAirflow(
        measured_m3_s=reader.given_quantity("airflow.measured"),
        measured_accuracy=reader.statement("airflow.measured_accuracy", atmosphere_pa=atmosphere_pa),
        traverse_m_s=traverse or (),
        traverse_area_m2=area,
        traverse_accuracy=reader.statement("airflow.traverse_accuracy", atmosphere_pa=atmosphere_pa),
        external_static_pa=reader.given_quantity("airflow.external_static"),
    )


def _house(reader: Reader) -> House:
    house = House(
        design_load_w=reader.given_quantity("house.design_load"),
        design_temp_c=reader.given_quantity("house.design_temp"),
        indoor_c=reader.quantity("house.indoor"),
        zero_load_c=reader.quantity("house.zero_load"),
        run_time=reader.file("house.run_time"),
    )
    halves = {"house.design_load", "house.design_temp"}
    if len(halves & reader.given.keys()) == 1:
        (there,) = halves & reader.given.keys()
        (missing,) = halves - {there}
        reader.mistakes.append(
            f"{there} is given without {missing}. Expected both: a load holds at a temperature. "
            f"Add {missing}."
        )
    pairs = [("house.design_temp", house.design_temp_c, "house.zero_load", house.zero_load_c)]
    pairs.append(("house.zero_load", house.zero_load_c, "house.indoor", house.indoor_c))
    for cold, cold_c, warm, warm_c in pairs:
        if cold_c is not None and cold_c >= warm_c:
            reader.mistakes.append(
                f"{cold} {reader.as_given(cold)} is not below {warm} {reader.as_given(warm)}. Expected the "
                "design temperature below the zero-load temperature, that below the set point. Check both."
            )
    return house


def _supply(reader: Reader) -> Supply:
    return Supply(
        voltage_v=reader.quantity("supply.voltage"),
        tolerance=reader.quantity("supply.tolerance"),
        phases=3 if reader.choice("supply.phases") == "3" else 1,
    )
