"""What people type: the schema of machine profiles and site surveys, YAML with line numbers, JSON Schema.

Lives here: fields, their kinds and the rules no site can change. May not live here: anything computed.
"""
