"""The endpoints, a module for each part of the shop."""
