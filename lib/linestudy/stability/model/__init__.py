"""Is a run in control, by tests that know no shape, and which model of ISO 22514-2 it follows."""
