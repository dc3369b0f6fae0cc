"""Who hears whom."""
