"""The views: find, check, call one action, answer."""
