"""The readiness rules, one module an area. A rule decides; its words stand in the message files."""
