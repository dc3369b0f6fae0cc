"""Keeps the configuration of a live show's intercom safe while several people change it."""
