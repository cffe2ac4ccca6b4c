"""The board: coil sensor, pressure switches, defrost control, thermostat."""
