"""Pure rules of the order plan."""
