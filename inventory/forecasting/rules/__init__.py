"""Pure rules of the forecast: spoilage, running short, pools, bits, readiness."""
