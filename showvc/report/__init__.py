"""Paper: key sheets with their label strips, and the report of what changed between two sources."""
