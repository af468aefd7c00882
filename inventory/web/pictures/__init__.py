"""Pictures: drawn for a phone and for a desk, each with its figures as a table beside it."""
