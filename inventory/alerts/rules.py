"""Why the workshop is told something, and how it is said."""

CAUSES = {
    "short": "short before a stage",
    "keep_level": "under the keep level",
    "pool": "too few temporary fasteners",
    "drills": "too few drills",
    "shelf_life": "shelf life ends",
    "overdue": "order overdue",
    "count": "bin to be counted",
    "late": "stage late",
}
