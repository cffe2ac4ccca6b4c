"""The store: what a shop keeps of its customers' units and visits."""
