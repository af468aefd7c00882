"""Campaigns: the shop is ended by force, again and again, and must lose nothing."""
