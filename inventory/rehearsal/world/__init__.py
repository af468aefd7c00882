"""What happens to simulated builders: their aircraft, work, mistakes and parcels."""
