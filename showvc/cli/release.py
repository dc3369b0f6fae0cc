"""(coming)"""
