"""The embedded engine, as Django's own but for who waits how."""
