"""The demo's sign-in. It exists in the demo only, and the demo on loopback only."""

DEMO_NAME = "demo"
DEMO_PASSWORD = "rivets-before-coffee"  # noqa: S105 - printed at every start
