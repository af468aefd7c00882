"""Simulated builds: the same work under several ways of buying, to see who stops."""
