"""The plan folder and what stands in it: JSON, solids, drawings, the log."""
