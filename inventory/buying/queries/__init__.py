"""Reads of the order plan: what is wanted and sold, and what was worked out."""
