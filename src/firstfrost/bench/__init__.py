"""The practice bench: a heat pump that frosts, defrosts and breaks, on a desk."""
