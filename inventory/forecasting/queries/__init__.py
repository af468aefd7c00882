"""Reads of the forecast, by what they are about."""
