"""What a probe is worth: from a maker's statement to a standard uncertainty, a budget, and a decision."""
