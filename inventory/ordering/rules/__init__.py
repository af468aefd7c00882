"""Pure rules of supply: a person's lists, packs, and the order plan."""
