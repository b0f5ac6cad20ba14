"""How a run moves: correlation, wear, steps, sources and components of its variance, the model of ISO 22514-2."""
