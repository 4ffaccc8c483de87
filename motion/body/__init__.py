"""See the map in DEVELOPERS.md."""
