"""Gripcount: the bench stock of a workshop that builds a riveted aircraft."""
