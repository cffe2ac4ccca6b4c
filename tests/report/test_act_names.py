"""Acts of a run close together share a label, so that none is written over another."""

from firstfrost.report.run_plot import act_names


def test_acts_far_apart_have_their_own_numbers():
    assert act_names([(1, 10.0), (2, 70.0)], apart_s=60.0) == [("1", 10.0), ("2", 70.0)]


def test_acts_close_together_share_a_label_between_the_first_and_the_last():
    acts = [(2, 100.0), (3, 130.0), (4, 180.0), (5, 900.0)]
    assert act_names(acts, apart_s=60.0) == [("2\u20134", 140.0), ("5", 900.0)]


def test_no_act_no_label():
    assert act_names([], apart_s=60.0) == []
