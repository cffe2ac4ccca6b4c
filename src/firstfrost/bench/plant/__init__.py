"""The plant: refrigerant circuit, coils, frost, house, as one right-hand side in SI."""
