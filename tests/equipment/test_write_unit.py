"""A unit file written and read again."""

import tomllib

from hypothesis import given
from hypothesis import strategies as st

from firstfrost.equipment.write import unit_toml

WORDS = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), min_size=1, max_size=12)
VALUES = st.one_of(WORDS, st.lists(WORDS, max_size=3), st.dictionaries(WORDS, WORDS, max_size=3))


@given(st.dictionaries(WORDS, st.dictionaries(WORDS, VALUES, max_size=4), max_size=4))
def test_what_is_written_reads_back_the_same(table):
    assert tomllib.loads(unit_toml(table)) == table
