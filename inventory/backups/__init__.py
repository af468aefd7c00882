"""Backups: the whole shop in one sealed file, made, proven, kept and put back."""
