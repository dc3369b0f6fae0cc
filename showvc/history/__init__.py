"""Snapshots, drafts, marks, undo and merging, over git in the show folder itself."""
