"""From pressures and temperatures to saturation, superheat and subcooling."""
