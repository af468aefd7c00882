"""Pure rules of the plan: reading its rows, comparing two plans, dating its stages."""
