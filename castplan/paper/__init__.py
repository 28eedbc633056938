"""The booklet: sheets measured in millimetres."""
