"""The auditor's side: what shows that a dossier is what its sender made."""
