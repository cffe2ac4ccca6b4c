"""Names and indices of the flat arrays stand in the same order."""

from firstfrost.bench.board import index as board_index
from firstfrost.bench.board import layout as board_layout
from firstfrost.bench.board.settings import CONTROLS
from firstfrost.bench.board.settings import meaning as control_meaning
from firstfrost.bench.plant import index, layout
from firstfrost.bench.plant.parameters import PARAMETERS, Plant, meaning, pack


def indices(module, prefix):
    found = {name: value for name, value in vars(module).items() if name.startswith(prefix)}
    return [name.removeprefix(prefix).lower() for name in sorted(found, key=found.__getitem__)]


def test_parameters_stand_where_their_index_says():
    names = indices(index, "P_")
    assert tuple(names[: len(PARAMETERS)]) == PARAMETERS
    assert names[len(PARAMETERS) :] == ["vapor", "map_flow", "map_power"]
    assert len(pack(Plant())) == index.P_MAP_POWER + 10
    assert all(meaning(name) for name in PARAMETERS)


def test_settings_stand_where_their_index_says():
    assert tuple(indices(board_index, "B_")) == CONTROLS
    assert all(control_meaning(name) for name in CONTROLS)


def test_rows_of_the_plant_stand_where_their_index_says():
    for i, name in enumerate(layout.NAMES):
        assert getattr(layout, name.upper()) == i
    for i, row in enumerate(layout.INPUTS):
        assert getattr(layout, row[0].upper()) == i
    for i, name in enumerate(layout.DERIVED_NAMES):
        assert getattr(layout, f"A_{name.upper()}") == i


def test_rows_of_the_board_stand_where_their_index_says():
    for i, name in enumerate(board_layout.BOARD_NAMES):
        assert getattr(board_layout, f"D_{name.upper()}") == i
