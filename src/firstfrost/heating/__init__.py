"""Is the heating fit: charge, airflow, capacity, power, backup heat, and what they should be."""
