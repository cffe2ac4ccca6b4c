"""Firstfrost: from a heat pump visit's readings to what they show of its defrost and its heating.

The data passes from left to right, and imports go one way only::

    trace -> cycle -> phases -> proofs -> visit -> report
"""

__version__ = "0.1.0"
