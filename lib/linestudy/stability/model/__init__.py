"""What a run is said to be: at rest or not by tests that know no shape, and the model of ISO 22514-2."""
