"""Reading codes from pictures. Loaded only in the process that opens photos."""
