"""Capability of the streams of a tool (stations, lanes, cavities, heads), of the worst of them and of the whole tool."""
