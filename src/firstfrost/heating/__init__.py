"""Is the heating fit: charge, airflow, capacity, power, backup heat, each a number with its uncertainty."""
