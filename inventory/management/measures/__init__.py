"""What `benchmark` measures: one module a measure, each beside a reference."""
