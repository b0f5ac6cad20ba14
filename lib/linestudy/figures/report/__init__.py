"""Pictures of the document, drawn at the size they are printed in; the caption asks their question."""
