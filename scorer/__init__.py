"""Find rental homes that cheap work would lift: photos, conditions, upgrades, scope and money."""

__version__ = "0.1.0"
