"""The questions a builder looks up: what each takes, and its answer with sources."""
