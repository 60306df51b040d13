"""Template tags of the workbench."""
