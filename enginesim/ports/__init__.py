"""Ports of a head on a flow bench: what they pass, and what their valves alone must let through."""
