"""The sections of the report: decision sheet, measuring and sampling, characteristics, control plan, attachments."""
