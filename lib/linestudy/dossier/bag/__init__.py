"""The folder a dossier is: written whole, kept, owned, with its versions."""
