"""Cam lobes from what a cam card tells, and what their followers allow."""
